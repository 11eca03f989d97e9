package lesson

import (
	"strings"
	"testing"

	"weftroom/bot"
	"weftroom/bot/class"
)

// TestPanicInAHandoutIsOneFailedRequest: handouts are made beside the goroutine of
// the request, where nobody else would catch it.
func TestPanicInAHandoutIsOneFailedRequest(t *testing.T) {
	broken := handoutSet{} // no call to speak for
	student := fellow{member: class.Member{Role: bot.Student}, loom: class.Loom{Ends: 24}}
	_, err := broken.make(t.Context(), []fellow{student})
	if err == nil || !strings.Contains(err.Error(), "panic in a handout: runtime error") {
		t.Errorf("a handout that panics gives %v", err)
	}
}
