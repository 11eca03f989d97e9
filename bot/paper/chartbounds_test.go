package paper

import (
	"testing"

	"weftroom/calc/lace"
)

// TestAChartOfNothingDrawsNothing: rows without a place, as a list of single groups
// has them, get no frame and no mark to begin at.
func TestAChartOfNothingDrawsNothing(t *testing.T) {
	for name, holes := range map[string]lace.Chart{"no rows": nil, "rows without a place": {{}, {}}} {
		if n := len((Chart{Holes: holes, Way: lace.TwoWay}).Sheet().Items); n != 0 {
			t.Errorf("%s: %d things are drawn", name, n)
		}
	}
}
