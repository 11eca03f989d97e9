package measure

import "strconv"

// YarnSystem is the way a yarn's fineness was stated.
type YarnSystem int

// The systems of yarn numbers. The counts grow with fineness (lengths to a
// mass), tex, dtex and denier grow with thickness (masses to a length).
const (
	NoYarnSystem      YarnSystem = iota
	CottonCount                  // Ne: hanks of 840 yd to the pound
	WorstedCount                 // hanks of 560 yd to the pound
	LinenLea                     // leas of 300 yd to the pound
	WoollenRun                   // runs of 1600 yd to the pound
	MetricCount                  // Nm: metres to the gram
	TexNumber                    // grams to 1000 m
	DtexNumber                   // grams to 10 000 m
	DenierNumber                 // grams to 9000 m
	YardsPerPound                // of the finished yarn
	MetresPer100Grams            // of the finished yarn
	WrapsPerInch                 // turns side by side on a ruler; says nothing of mass
)

// Fibre is what a yarn is made of, as far as sett and count habits need it.
type Fibre int

// The fibres. Wool means that nobody said whether it was spun worsted or
// woollen.
const (
	NoFibre Fibre = iota
	Cotton
	Viscose
	Lyocell
	Bamboo
	Linen
	Hemp
	Ramie
	Wool
	Worsted
	Woollen
	Alpaca
	Mohair
	Silk
	SpunSilk
	Acrylic
	Nylon
	Polyester
)

// Bounds of what is read as a yarn.
const (
	MinYarnNumber = 0.001
	MaxYarnNumber = 1e6
	MaxPlies      = 100
)

// Yarn is a yarn as it was written. Its linear density is worked out by
// yarn.Tex.
type Yarn struct {
	System YarnSystem
	Number float64 // MinYarnNumber to MaxYarnNumber, of one ply unless Finished
	Plies  int     // 1 to MaxPlies

	// Finished says that Number is already that of the plied yarn: spun silk on
	// the cotton count, resultant tex, lengths to a mass, wraps.
	Finished bool
	Fibre    Fibre
}

type fibre struct {
	name   string
	system YarnSystem // of a number that names no system
}

// fibres has the names that String writes and the count that each fibre's
// numbers are on when nobody names one. Where the trade has no single habit
// there is none: "20/2 silk" may be spun silk or metric, and is asked about.
// Cotton, linen, hemp and ramie: GNU units and Taylor; the others from memory.
var fibres = map[Fibre]fibre{
	Cotton:    {"cotton", CottonCount},
	Viscose:   {"viscose", CottonCount},
	Lyocell:   {"lyocell", CottonCount},
	Bamboo:    {"bamboo", CottonCount},
	Linen:     {"linen", LinenLea},
	Hemp:      {"hemp", LinenLea},
	Ramie:     {"ramie", LinenLea},
	Wool:      {"wool", WorstedCount},
	Worsted:   {"worsted", WorstedCount},
	Woollen:   {"woollen", WoollenRun},
	Alpaca:    {"alpaca", WorstedCount},
	Mohair:    {"mohair", WorstedCount},
	Silk:      {"silk", NoYarnSystem},
	SpunSilk:  {"spun silk", CottonCount},
	Acrylic:   {"acrylic", NoYarnSystem},
	Nylon:     {"nylon", NoYarnSystem},
	Polyester: {"polyester", NoYarnSystem},
}

// String is the fibre's name, "" for NoFibre.
func (f Fibre) String() string { return fibres[f].name }

// orderPlies tells which of the two numbers in a/b counts the plies.
//
// The habit of the system decides: 8/2 cotton and Nm 16/2 name the count first,
// 2/16 worsted and 2/5 woollen the plies. Weavers also write 2/8 cotton and
// 16/2 worsted; that order is taken where the habit would give a yarn of more
// than four plies and the other way gives one of four or fewer. So 12/15
// cotton, a seine twine, keeps its fifteen plies.
func orderPlies(s YarnSystem, a, b float64) (number float64, plies int, ok bool) {
	const usual = 4
	number, count := a, b
	if s == WorstedCount || s == WoollenRun {
		number, count = b, a
	}
	if !isPlies(count) || count > usual && isPlies(number) && number <= usual {
		number, count = count, number
	}
	if !isPlies(count) {
		return 0, 0, false
	}
	return number, int(count), true
}

func isPlies(n float64) bool {
	return n >= 1 && n <= MaxPlies && n == float64(int(n))
}

// String writes the yarn so that ParseYarn reads the same one.
func (y Yarn) String() string {
	n := Decimal(y.Number)
	s := ""
	switch y.System {
	case YardsPerPound:
		s = n + " yd/lb" + y.plyWord()
	case MetresPer100Grams:
		s = n + " m/100 g" + y.plyWord()
	case WrapsPerInch:
		s = n + " wpi" + y.plyWord()
	case TexNumber, DtexNumber, DenierNumber:
		s = y.direct(n)
	default:
		s = y.count(n)
	}
	if y.Fibre != NoFibre {
		s += " " + y.Fibre.String()
	}
	return s
}

func (y Yarn) plyWord() string {
	if y.Plies <= 1 {
		return ""
	}
	return " " + strconv.Itoa(y.Plies) + "-ply"
}

func (y Yarn) direct(n string) string {
	name := map[YarnSystem]string{TexNumber: "tex", DtexNumber: "dtex", DenierNumber: "denier"}[y.System]
	switch {
	case y.Finished:
		return "R" + n + " " + name + "/" + strconv.Itoa(y.Plies)
	case y.Plies > 1:
		return n + " " + name + " x " + strconv.Itoa(y.Plies)
	}
	return n + " " + name
}

func (y Yarn) count(n string) string {
	prefix := map[YarnSystem]string{
		CottonCount: "Ne ", WorstedCount: "NeK ", LinenLea: "lea ",
		WoollenRun: "run ", MetricCount: "Nm ",
	}[y.System]
	if fibres[y.Fibre].system == y.System {
		prefix = ""
	}
	plies := strconv.Itoa(y.Plies)
	a, b := n, plies
	first, second := y.Number, float64(y.Plies)
	if y.System == WorstedCount || y.System == WoollenRun {
		a, b, first, second = plies, n, second, first
	}
	number, count, ok := orderPlies(y.System, first, second)
	if !ok || number != y.Number || count != y.Plies {
		return prefix + n + " x " + plies // a/b would be read the other way
	}
	return prefix + a + "/" + b
}
