package warp

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"weftroom/calc"
	"weftroom/calc/measure"
)

func TestCrimpClosedForm(t *testing.T) {
	for _, row := range []struct {
		name       string
		warp, weft float64 // cotton counts of the plied yarn
		epi, ppi   measure.Sett
		f          measure.Ratio
		c1, c2     float64
	}{
		{"8/2 cotton, square and balanced", 4, 4, 20, 20, 0.5, 0.067708, 0.067708},
		{"10/2 cotton, square and balanced", 5, 5, 24, 24, 0.5, 0.078830, 0.078830},
		{"8/2 cotton, fewer picks: the warp bends less", 4, 4, 20, 16, 0.5, 0.042336, 0.067708},
		{"8/2 cotton, a warp under tension: the weft bends more", 4, 4, 20, 20, 0.35, 0.032788, 0.115028},
		{"5/2 warp and 8/2 weft", 2.5, 4, 16, 18, 0.5, 0.070521, 0.054916},
	} {
		t.Run(row.name, func(t *testing.T) { // Peirce's closed form solved apart; derived
			c1, c2, err := Geometry{peirce(row.warp), peirce(row.weft), row.epi * perInch, row.ppi * perInch, row.f}.Crimp()
			if err != nil {
				t.Fatal(err)
			}
			near(t, "warp crimp", float64(c1), row.c1, 1e-6)
			near(t, "weft crimp", float64(c2), row.c2, 1e-6)
		})
	}
}

// The square cloth that jams: 60°, spacing 0.866 of the sum of the diameters,
// crimp 0.2092 (notes on Peirce's geometry; seen).
func TestSquareJam(t *testing.T) {
	d := peirce(4)
	at := func(spacing float64) Geometry {
		s := measure.Sett(1 / (spacing * float64(2*d)))
		return Geometry{d, d, s, s, Balanced}
	}
	jam := math.Sqrt(3) / 2
	near(t, "spacing", jam, 0.866, 5e-5)

	c1, c2, err := at(jam * (1 + 1e-12)).Crimp()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "warp crimp", float64(c1), 0.2092, 5e-5)
	near(t, "weft crimp", float64(c2), 0.2092, 5e-5)
	near(t, "angle in degrees", (1+float64(c1))*jam*180/math.Pi, 60, 1e-3)

	_, _, err = at(jam * (1 - 1e-9)).Crimp()
	f := wantFault(t, err, calc.Conflict, KeyJammed, "ppi")
	// 0.577 × diameters per inch is 32.3 for 8/2 cotton (derived).
	near(t, "closest sett", f.Args[1].(measure.Sett).In(perInch), 32.3, 0.05)
}

func TestJammedSaysWhichSystem(t *testing.T) {
	d := peirce(4)
	open := 16 * perInch
	_, _, err := Geometry{d, d, 40 * perInch, open, Balanced}.Crimp()
	if f := wantFault(t, err, calc.Conflict, KeyJammed, "sett"); f.Example != "sett:27" {
		t.Errorf("example %q", f.Example)
	}
	_, _, err = Geometry{d, d, open, 40 * perInch, Balanced}.Crimp()
	wantFault(t, err, calc.Conflict, KeyJammed, "ppi")
}

func TestCrimpRefusesNonsense(t *testing.T) {
	good := Geometry{peirce(4), peirce(4), 20 * perInch, 20 * perInch, Balanced}
	nan := math.NaN()
	for _, row := range []struct {
		name  string
		spoil func(*Geometry)
		key   calc.Key
		field string
	}{
		{"no warp yarn", func(g *Geometry) { g.Warp = 0 }, KeyDiameterRange, "yarn"},
		{"weft not a number", func(g *Geometry) { g.Weft = measure.Length(nan) }, KeyDiameterRange, "yarn"},
		{"yarn as thick as an arm", func(g *Geometry) { g.Weft = 0.1 }, KeyDiameterRange, "yarn"},
		{"no ends", func(g *Geometry) { g.Ends = 0 }, KeySettRange, "sett"},
		{"endless picks", func(g *Geometry) { g.Picks = measure.Sett(math.Inf(1)) }, KeySettRange, "ppi"},
		{"more than all crimp in the warp", func(g *Geometry) { g.F = 1.01 }, KeyRatioRange, "balance"},
		{"balance not a number", func(g *Geometry) { g.F = measure.Ratio(nan) }, KeyRatioRange, "balance"},
	} {
		t.Run(row.name, func(t *testing.T) {
			g := good
			row.spoil(&g)
			_, _, err := g.Crimp()
			wantFault(t, err, calc.OutOfRange, row.key, row.field)
		})
	}
}

// The published shortcut h = 4/3·p·√c is close to the closed form and is not it:
// mistaking one for the other must show.
func TestShortcutIsNearNotEqual(t *testing.T) {
	for _, g := range []Geometry{
		{peirce(4), peirce(4), 20 * perInch, 20 * perInch, 0.5},
		{peirce(5), peirce(5), 24 * perInch, 24 * perInch, 0.5},
		{peirce(4), peirce(4), 20 * perInch, 16 * perInch, 0.5},
		{peirce(2.5), peirce(4), 16 * perInch, 18 * perInch, 0.5},
	} {
		c, _, err := g.Crimp()
		if err != nil {
			t.Fatal(err)
		}
		h := float64(g.F) * float64(g.Warp+g.Weft)
		short := 4.0 / 3 * float64(g.Picks.Spacing()) * math.Sqrt(float64(c))
		if off := math.Abs(short/h - 1); off < 0.002 || off > 0.06 {
			t.Errorf("%+v: shortcut is %.2f %% off", g, 100*off)
		}
	}
}

func TestTakeUp(t *testing.T) {
	for _, row := range []struct {
		name                 string
		yarn, cloth          float64
		crimp, takeUp        float64
		crimpWithin, tWithin float64
		source, known        string
	}{
		{"21.2 cm out of 20 cm", 21.2, 20, 0.060, 0.0566, 1e-12, 5e-5, "ASTM D3883", seen},
		{"10 % take-up is 11.1 % crimp", 10, 9, 1.0 / 9, 0.1, 1e-12, 1e-12, "definition", derived},
		{"straight yarn", 20, 20, 0, 0, 0, 0, "definition", derived},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := measure.Ratio(row.yarn/row.cloth - 1)
			near(t, "crimp", float64(c), row.crimp, row.crimpWithin)
			near(t, "take-up", float64(TakeUp(c)), row.takeUp, row.tWithin)
			near(t, "crimp of take-up", float64(CrimpOf(TakeUp(c))), float64(c), 1e-15)
		})
	}
}

func drawGeometry(t *rapid.T) Geometry {
	count := rapid.Float64Range(0.05, 200)
	sett := rapid.Float64Range(float64(minSett), float64(maxSett))
	return Geometry{
		Warp: peirce(count.Draw(t, "warp count")), Weft: peirce(count.Draw(t, "weft count")),
		Ends: measure.Sett(sett.Draw(t, "ends")), Picks: measure.Sett(sett.Draw(t, "picks")),
		F: measure.Ratio(rapid.Float64Range(0, 1).Draw(t, "f")),
	}
}

func TestGeometryGivesCrimpOrSaysJammed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := drawGeometry(t)
		c1, c2, err := g.Crimp()
		if err != nil {
			f, ok := err.(*calc.Fault)
			if !ok || f.Key != KeyJammed {
				t.Fatalf("%v", err)
			}
			asked, closest := f.Args[0].(measure.Sett), f.Args[1].(measure.Sett)
			if !finite(float64(closest)) || closest > asked {
				t.Errorf("asked %v is jammed, yet %v would be closer", asked, closest)
			}
			return
		}
		// A single yarn bends at most a right angle: π/2 for every 1.
		for _, c := range []float64{float64(c1), float64(c2)} {
			if !finite(c) || c < 0 || c > math.Pi/2-1+1e-9 {
				t.Errorf("crimp %v", c)
			}
		}
	})
}

// The sett that a jam names as the closest possible is possible, and nothing
// closer is.
func TestClosestSettIsTheLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := drawGeometry(t)
		_, _, err := g.Crimp()
		f, ok := err.(*calc.Fault)
		if !ok || f.Field != "ppi" {
			t.Skip("not jammed in the picks")
		}
		closest := f.Args[1].(measure.Sett)
		if closest*(1-1e-6) < minSett {
			t.Skip("below what is planned")
		}
		g.Picks = closest * (1 - 1e-6)
		if _, _, err := g.Crimp(); err != nil && err.(*calc.Fault).Field == "ppi" {
			t.Errorf("%v still jams", g.Picks)
		}
		g.Picks = min(closest*(1+1e-6), maxSett)
		if _, _, err := g.Crimp(); g.Picks > closest && err == nil {
			t.Errorf("%v does not jam", g.Picks)
		}
	})
}

// The length that the crimp says really leads over the other yarn: walked along
// the arc and the straight part, the yarn advances p and climbs h.
func TestCrimpClosesTheTriangle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0.0001, 0.01).Draw(t, "d")
		h := d * rapid.Float64Range(0.05, 1).Draw(t, "f")
		p := d * rapid.Float64Range(0.2, 20).Draw(t, "p")
		c, ok := crimp(d, h, p)
		if !ok {
			t.Skip("jammed")
		}
		length := p * (1 + float64(c))
		lo, hi := 0.0, math.Min(math.Pi/2, length/d) // θ from the advance alone, by halving
		advance := func(th float64) float64 { return (length-d*th)*math.Cos(th) + d*math.Sin(th) }
		for range 200 {
			if mid := (lo + hi) / 2; advance(mid) > p {
				lo = mid
			} else {
				hi = mid
			}
		}
		climb := (length-d*lo)*math.Sin(lo) + d*(1-math.Cos(lo))
		if math.Abs(climb-h) > 1e-5*d {
			t.Errorf("climbs %v of %v", climb, h)
		}
	})
}
