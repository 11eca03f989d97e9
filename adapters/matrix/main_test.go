package matrix

import (
	"fmt"
	"os"
	"testing"

	"weftroom/adapters/matrix/matrixtest"
)

// childVar holds the orders of a process that is to be a bot, and not the tests.
const childVar = "WEFTROOM_MATRIX_CHILD"

// child is what such a process does; nil where it cannot.
var child func(orders string) error

// TestMain is the child's main as well, and ends the homeserver that the tests
// share.
func TestMain(m *testing.M) {
	if orders := os.Getenv(childVar); orders != "" && child != nil {
		if err := child(orders); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(matrixtest.Main(m))
}
