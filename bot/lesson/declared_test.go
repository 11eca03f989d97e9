package lesson

import (
	"testing"

	"weftroom/bot"
)

// TestDeclarations: names can be written, defaults and bounds can be read, and
// every example is answered.
func TestDeclarations(t *testing.T) {
	for _, err := range bot.Check(Commands(&Desk{})) {
		t.Error(err)
	}
}
