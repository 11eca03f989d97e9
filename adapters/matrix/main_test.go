package matrix

import (
	"os"
	"testing"

	"weftroom/adapters/matrix/matrixtest"
)

// TestMain ends the homeserver that the tests share.
func TestMain(m *testing.M) {
	os.Exit(matrixtest.Main(m))
}
