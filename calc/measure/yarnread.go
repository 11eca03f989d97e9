package measure

import (
	"slices"
	"unicode"

	"weftroom/calc"
)

// systemWords name a system by themselves. NeK is the worsted count in
// textbooks (from memory).
var systemWords = map[string]YarnSystem{
	"ne": CottonCount, "nec": CottonCount, "nek": WorstedCount,
	"lea": LinenLea, "leas": LinenLea, "nel": LinenLea,
	"run": WoollenRun, "runs": WoollenRun,
	"nm": MetricCount, "metric": MetricCount,
	"tex": TexNumber, "dtex": DtexNumber, "decitex": DtexNumber,
	"den": DenierNumber, "denier": DenierNumber, "deniers": DenierNumber,
	"ypp": YardsPerPound, "wpi": WrapsPerInch, "wraps": WrapsPerInch, "wrap": WrapsPerInch,
}

var fibreWords = map[string]Fibre{
	"cotton": Cotton, "viscose": Viscose, "rayon": Viscose, "lyocell": Lyocell, "bamboo": Bamboo,
	"linen": Linen, "flax": Linen, "hemp": Hemp, "ramie": Ramie,
	"wool": Wool, "worsted": Worsted, "woollen": Woollen, "woolen": Woollen,
	"alpaca": Alpaca, "mohair": Mohair, "silk": Silk,
	"acrylic": Acrylic, "nylon": Nylon, "polyamide": Nylon, "polyester": Polyester,
}

// plainWords change neither number nor system.
var plainWords = map[string]bool{
	"count": true, "yarn": true, "no": true, "spun": true,
	"mercerised": true, "mercerized": true, "unmercerised": true, "unmercerized": true,
	"perle": true, "pearl": true, "combed": true, "carded": true,
}

// yarnReader gathers what the words and numbers of a yarn say, in any order.
type yarnReader struct {
	*reader
	yarn      Yarn
	place     int // of the first number
	numbered  bool
	second    float64 // of a/b, 0 if there is none
	spun      bool
	resultant bool // R60 tex/2
}

// ParseYarn reads a yarn: 8/2 cotton, cotton 8/2, 40/2 spun silk, 16/2 linen,
// 2/16 worsted, Nm 16/2, Ne 20, 5 run, 30 tex, 30 tex x 2, R60 tex/2, 70 denier,
// 3360 yd/lb, 230 m/100g, 10 wpi. A fibre may stand beside any of them. Which
// number of a/b counts the plies is said at orderPlies; a length to any mass is
// kept as yards to the pound or, where the mass was metric, metres to 100 g.
func ParseYarn(s string) (Yarn, error) {
	r, err := newReader(s, "8/2 cotton")
	if err != nil {
		return Yarn{}, err
	}
	y := &yarnReader{reader: r}
	for !y.end() {
		if err := y.part(); err != nil {
			return Yarn{}, err
		}
		y.skip()
	}
	return y.finish()
}

func (y *yarnReader) part() error {
	c := y.at(0)
	switch {
	case startsNumber(c) || isMinus(c):
		return y.number()
	case (c == 'x' || c == '×' || c == '*') && y.numbered && !isLetterX(y):
		y.pos++
		return y.times()
	case isSlash(c) && y.resultant && y.yarn.System != NoYarnSystem:
		y.pos++
		return y.times()
	}
	place := y.pos
	w := y.word()
	if w == "" {
		return y.unexpected()
	}
	return y.meaning(w, place)
}

// isLetterX tells an x that begins a word from one that multiplies.
func isLetterX(y *yarnReader) bool {
	next := y.at(1)
	return next >= 'a' && next <= 'z'
}

func (y *yarnReader) number() error {
	place := y.pos
	n, _, err := y.countNumber()
	if err != nil {
		return err
	}
	if y.takePly() {
		return y.setPlies(n, place)
	}
	if y.numbered {
		return y.unexpectedFrom(place)
	}
	y.yarn.Number, y.numbered, y.place = n, true, place
	if y.takeSlash() {
		if y.second, _, err = y.countNumber(); err != nil {
			return err
		}
		if y.second == 0 {
			return y.fault(calc.OutOfRange, KeyYarnPlies, place, MaxPlies)
		}
		y.takePly() // 8/2 ply
	}
	y.takePluralS()
	return nil
}

// takePluralS passes over the s of "2/40s" and "30's".
func (y *yarnReader) takePluralS() {
	start := y.pos
	if isSingleMark(y.at(0)) {
		y.pos++
	}
	if y.word() != "s" {
		y.pos = start
	}
}

// takePly moves past "-ply" or " ply".
func (y *yarnReader) takePly() bool {
	start := y.pos
	y.skip()
	if isMinus(y.at(0)) {
		y.pos++
	}
	if y.word() == "ply" {
		return true
	}
	y.pos = start
	return false
}

func (y *yarnReader) times() error {
	y.skip()
	place := y.pos
	n, _, err := y.countNumber()
	if err != nil {
		return err
	}
	if y.second != 0 { // 8/2 x 3 may be a cable or three strands
		return y.unexpectedFrom(place)
	}
	return y.setPlies(n, place)
}

// unexpectedFrom refuses what was read since place.
func (y *yarnReader) unexpectedFrom(place int) *calc.Fault {
	return y.fault(calc.BadValue, KeyUnexpected, place, visible(y.written[place:]))
}

func (y *yarnReader) setPlies(n float64, place int) error {
	if y.yarn.Plies != 0 {
		return y.unexpectedFrom(place)
	}
	if !isPlies(n) {
		return y.fault(calc.OutOfRange, KeyYarnPlies, place, MaxPlies)
	}
	y.yarn.Plies = int(n)
	return nil
}

func (y *yarnReader) meaning(w string, place int) error {
	if f, ok := fibreWords[w]; ok {
		return y.setFibre(f, place)
	}
	if s, ok := systemWords[w]; ok {
		return y.setSystem(s, place)
	}
	if u, ok := lengthUnits[w]; ok && y.numbered {
		return y.perMass(u, place)
	}
	if w == "r" && !y.numbered {
		y.resultant = true
		return nil
	}
	if plainWords[w] {
		y.spun = y.spun || w == "spun"
		return nil
	}
	if !slices.ContainsFunc(y.text, unicode.IsNumber) { // "fluffy" is no unit misspelt
		return y.fault(calc.BadValue, KeyYarnNumber, place)
	}
	return y.unknownUnit(place, w)
}

func (y *yarnReader) setFibre(f Fibre, place int) error {
	if f == Silk && y.spun {
		f = SpunSilk
	}
	switch old := y.yarn.Fibre; {
	case old == NoFibre, old == Wool && (f == Worsted || f == Woollen):
		y.yarn.Fibre = f
	case old == f, f == Wool && (old == Worsted || old == Woollen):
	default:
		return y.fault(calc.Conflict, KeyYarnSystems, place, f.String())
	}
	return nil
}

func (y *yarnReader) setSystem(s YarnSystem, place int) error {
	if y.yarn.System != NoYarnSystem {
		return y.fault(calc.Conflict, KeyYarnSystems, place, visible(y.written[place:y.pos]))
	}
	y.yarn.System = s
	if s == WrapsPerInch && (y.takeSlash() || y.takeWord("per")) {
		y.skip()
		at := y.pos
		if u, ok := lengthUnits[y.word()]; !ok || u != inch {
			return y.unexpectedFrom(at)
		}
	}
	return nil
}

// perMass reads the mass that a length of yarn has, and keeps the number in the
// system of that mass.
func (y *yarnReader) perMass(length unit, place int) error {
	if !y.takeSlash() && !y.takeWord("per") {
		return y.noMass()
	}
	y.skip()
	n, err := y.divisor()
	if err != nil {
		return err
	}
	if y.end() {
		return y.noMass()
	}
	at := y.pos
	w := y.word()
	mass, ok := massUnits[w]
	if !ok {
		return y.unknownUnit(at, w)
	}
	system := YardsPerPound
	factor := length.value(1) / yard.value(1) * (pound.value(1) / (n * mass.value(1)))
	if mass.system == Metric {
		system = MetresPer100Grams
		factor = length.value(1) * (100 / (n * mass.value(1)))
	}
	y.yarn.Number *= factor
	return y.setSystem(system, place)
}

func (y *yarnReader) noMass() *calc.Fault {
	f := y.here(KeyYarnPerMass)
	f.Example = "230 m/100g"
	return f
}

// finish settles what the parts left open: the system, and which number counts
// the plies.
func (y *yarnReader) finish() (Yarn, error) {
	if !y.numbered {
		return Yarn{}, y.here(KeyYarnNumber)
	}
	if y.yarn.System == NoYarnSystem {
		y.yarn.System = fibres[y.yarn.Fibre].system
	}
	if y.yarn.System == NoYarnSystem {
		return Yarn{}, y.noSystem()
	}
	if err := y.settlePlies(); err != nil {
		return Yarn{}, err
	}
	if n := y.yarn.Number; !(n >= MinYarnNumber && n <= MaxYarnNumber) {
		return Yarn{}, y.fault(calc.OutOfRange, KeyYarnRange, y.place, MinYarnNumber, MaxYarnNumber)
	}
	return y.yarn, nil
}

// noSystem asks for the fibre or the count. Silk has its own example: 20/2 silk
// may be spun silk on the cotton count, already finished, or metric.
func (y *yarnReader) noSystem() *calc.Fault {
	if y.yarn.Fibre != Silk {
		return y.here(KeyYarnSystem)
	}
	number := Decimal(y.yarn.Number)
	if y.yarn.Plies > 1 {
		number += "/" + Decimal(float64(y.yarn.Plies))
	}
	f := y.here(KeyYarnSilk, number)
	f.Example = number + " spun silk"
	return f
}

func (y *yarnReader) settlePlies() error {
	counted := y.yarn.System <= MetricCount
	if y.second != 0 {
		if !counted {
			return y.directFault()
		}
		n, plies, ok := orderPlies(y.yarn.System, y.yarn.Number, y.second)
		if !ok {
			return y.fault(calc.OutOfRange, KeyYarnPlies, y.place, MaxPlies)
		}
		if y.yarn.Plies != 0 && y.yarn.Plies != plies {
			return y.unexpectedFrom(y.place)
		}
		y.yarn.Number, y.yarn.Plies = n, plies
	}
	y.yarn.Plies = max(y.yarn.Plies, 1)
	switch y.yarn.System {
	case CottonCount:
		y.yarn.Finished = y.yarn.Fibre == SpunSilk
	case TexNumber, DtexNumber, DenierNumber:
		y.yarn.Finished = y.resultant
	case YardsPerPound, MetresPer100Grams, WrapsPerInch:
		y.yarn.Finished = true
	}
	if y.resultant && (counted || y.yarn.System > DenierNumber) {
		return y.unexpectedFrom(0)
	}
	return nil
}

// directFault refuses a/b where it may mean plies or filaments, or nothing.
func (y *yarnReader) directFault() *calc.Fault {
	f := y.fault(calc.BadValue, KeyYarnDirect, y.place)
	f.Example = "30 tex x 2"
	return f
}
