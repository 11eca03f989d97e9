package warp

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"weftroom/calc"
	"weftroom/calc/measure"
)

func TestSkeins(t *testing.T) {
	for _, row := range []struct {
		name        string
		yarn, skein measure.Length
		margin      measure.Ratio
		want        int
	}{
		{"exactly three", 900 * yard, 300 * yard, 0, 3},
		{"seven, though metres make it a hair more", 700 * yard, 100 * yard, 0, 7},
		{"five with a margin, though metres make it a hair more", 1250 * yard, 275 * yard, 0.1, 5},
		{"a yard more needs a fourth", 901 * yard, 300 * yard, 0, 4},
		{"a margin of a tenth needs a fourth", 900 * yard, 300 * yard, 0.1, 4},
		{"exact with its margin", 1000 * yard, 275 * yard, 0.1, 4},
		{"none for no yarn", 0, 300 * yard, 0.1, 0},
		{"one for an inch", inch, 300 * yard, 0, 1},
	} {
		t.Run(row.name, func(t *testing.T) {
			got, err := Skeins(row.yarn, row.skein, row.margin)
			if err != nil || got != row.want {
				t.Errorf("got %d, %v; want %d", got, err, row.want)
			}
		})
	}
}

func TestSkeinsRefuses(t *testing.T) {
	for _, row := range []struct {
		name        string
		yarn, skein measure.Length
		margin      measure.Ratio
		key         calc.Key
		field       string
	}{
		{"negative yarn", -1, 100, 0, KeyLengthRange, "yarn"},
		{"endless yarn", measure.Length(math.Inf(1)), 100, 0, KeyLengthRange, "yarn"},
		{"empty skein", 100, 0, 0, KeyLengthRange, "skein"},
		{"skein not a number", 100, measure.Length(math.NaN()), 0, KeyLengthRange, "skein"},
		{"negative margin", 100, 100, -0.1, KeyRatioRange, "margin"},
		{"a million skeins and more", 1e9, 1, 0, KeySkeinsTooMany, "skein"},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, err := Skeins(row.yarn, row.skein, row.margin)
			wantFault(t, err, calc.OutOfRange, row.key, row.field)
		})
	}
}

func TestSkeinsHoldTheYarnAndNoneIsSpare(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		yarn := measure.Length(rapid.Float64Range(0.01, 50_000).Draw(t, "yarn"))
		skein := measure.Length(rapid.Float64Range(1, 3000).Draw(t, "skein"))
		margin := measure.Ratio(rapid.Float64Range(0, 1).Draw(t, "margin"))
		n, err := Skeins(yarn, skein, margin)
		if err != nil {
			t.Fatal(err)
		}
		need := float64(yarn) * float64(1+margin)
		if held := float64(n) * float64(skein); held < need*(1-1e-9) {
			t.Errorf("%d skeins hold %v of %v", n, held, need)
		}
		if held := float64(n-1) * float64(skein); held >= need {
			t.Errorf("%d skeins, and one less would do", n)
		}
	})
}

func TestCost(t *testing.T) {
	price := func(minor int64) Price { return Price{minor, "EUR"} }
	for _, row := range []struct {
		name    string
		cost    func() (Cost, error)
		minor   int64
		rounded bool
	}{
		{"half a kilogram at 25.00", func() (Cost, error) { return CostOfMass(500, price(2500), measure.Kilogram) }, 1250, false},
		{"3 lb 7 oz at 8.99 the pound is 30.903…, rounded up", func() (Cost, error) {
			return CostOfMass(3*measure.Pound+7*measure.Ounce, price(899), measure.Pound)
		}, 3091, true},
		{"2112 yd at 0.01 a yard", func() (Cost, error) { return CostOfLength(2112*yard, price(1), yard) }, 2112, false},
		{"a third of a cent is a cent", func() (Cost, error) { return CostOfLength(1, price(1), 3) }, 1, true},
		{"four skeins at 11.95", func() (Cost, error) { return CostOfSkeins(4, price(1195)) }, 4780, false},
		{"a gift", func() (Cost, error) { return CostOfSkeins(4, price(0)) }, 0, false},
		{"nothing", func() (Cost, error) { return CostOfMass(0, price(899), measure.Pound) }, 0, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			got, err := row.cost()
			if want := (Cost{row.minor, "EUR", row.rounded}); err != nil || got != want {
				t.Errorf("got %+v, %v; want %+v", got, err, want)
			}
		})
	}
}

func TestCostRefuses(t *testing.T) {
	for _, row := range []struct {
		name string
		cost func() (Cost, error)
		key  calc.Key
	}{
		{"negative price", func() (Cost, error) { return CostOfSkeins(1, Price{-1, "EUR"}) }, KeyPriceRange},
		{"absurd price", func() (Cost, error) { return CostOfSkeins(1, Price{math.MaxInt64, "EUR"}) }, KeyPriceRange},
		{"negative skeins", func() (Cost, error) { return CostOfSkeins(-1, Price{100, "EUR"}) }, KeyCostTooLarge},
		{"mass not a number", func() (Cost, error) { return CostOfMass(measure.Mass(math.NaN()), Price{100, "EUR"}, 1) }, KeyCostTooLarge},
		{"a unit of nothing", func() (Cost, error) { return CostOfLength(1, Price{100, "EUR"}, 0) }, KeyCostTooLarge},
		{"more than all money", func() (Cost, error) { return CostOfMass(1e12, Price{1e9, "EUR"}, 1) }, KeyCostTooLarge},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, err := row.cost()
			wantFault(t, err, calc.OutOfRange, row.key, "price")
		})
	}
}
