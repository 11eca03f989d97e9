package warp

import (
	"testing"

	"weftroom/calc/measure"
)

func TestUsualWaste(t *testing.T) {
	for _, row := range []struct {
		name      string
		loom      Loom
		low, high measure.Length
		known     string
	}{
		{"rigid heddle", RigidHeddle, 12 * inch, 24 * inch, common},
		{"table loom", TableLoom, 18 * inch, 27 * inch, common},
		{"floor loom", FloorLoom, 27 * inch, 36 * inch, common},
	} {
		t.Run(row.name, func(t *testing.T) {
			got, ok := UsualWaste(row.loom)
			if want := (LengthRange{row.low, row.high}); !ok || got != want {
				t.Errorf("got %v, %v; want %v (%s)", got, ok, want, row.known)
			}
		})
	}
	if _, ok := UsualWaste(LoomUnknown); ok {
		t.Error("an unknown loom has a usual waste")
	}
}

func TestUsualShrinkage(t *testing.T) {
	for _, row := range []struct {
		name      string
		fibre     measure.Fibre
		low, high measure.Ratio
		known     string
	}{
		{"cotton", measure.Cotton, 0.08, 0.12, common},
		{"linen", measure.Linen, 0.05, 0.10, common},
		{"wool", measure.Wool, 0.08, 0.15, common},
		{"spun silk as silk", measure.SpunSilk, 0.02, 0.05, common},
		{"silk", measure.Silk, 0.02, 0.05, common},
	} {
		t.Run(row.name, func(t *testing.T) {
			got, ok := UsualShrinkage(row.fibre)
			if want := (RatioRange{row.low, row.high}); !ok || got != want {
				t.Errorf("got %v, %v; want %v (%s)", got, ok, want, row.known)
			}
		})
	}
	if _, ok := UsualShrinkage(measure.Acrylic); ok {
		t.Error("an unknown fibre has a usual shrinkage")
	}
}

// Each usual value can be given to Plan, so that a default never meets a bound.
func TestUsualValuesArePlanned(t *testing.T) {
	for _, w := range LoomWaste {
		for _, s := range Shrinkage {
			o := scarf()
			o.Waste, o.Shrink, o.DrawIn = w.Usual.High, s.Usual.High, DrawIn.Usual.High
			if _, err := Plan(o); err != nil {
				t.Error(err)
			}
		}
	}
}
