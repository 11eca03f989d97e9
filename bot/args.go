package bot

import (
	"errors"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// Sentences of the argument readers.
const (
	KeyNotCount    calc.Key = "arg.not_count"      // the argument, what was written
	KeyCountRange  calc.Key = "arg.count_range"    // the argument, what was written, least, most
	KeyNotChoice   calc.Key = "arg.not_choice"     // the argument, what was written, the choices
	KeyNotMoney    calc.Key = "arg.not_money"      // the argument, what was written
	KeyValueRange  calc.Key = "arg.quantity_range" // the argument, what was written, least, most
	KeyUnreadable  calc.Key = "arg.unreadable"     // the argument, the reason
	KeyBareDensity calc.Key = "arg.bare_density"   // the argument, what was written
	KeyTextTooLong calc.Key = "arg.text_too_long"  // the argument, letters given, letters allowed
)

// Args are the arguments of one call, read by the command's declaration.
type Args struct {
	given  map[string]string
	values map[string]any
}

// Has tells whether the asker wrote the argument herself.
func (a Args) Has(name string) bool { _, ok := a.given[name]; return ok }

// Raw is the argument as it was written, "" when it was not.
func (a Args) Raw(name string) string { return a.given[name] }

// Count is a Count argument, 0 when neither given nor defaulted.
func (a Args) Count(name string) int { v, _ := a.values[name].(int); return v }

// Length is a Length argument, 0 when neither given nor defaulted.
func (a Args) Length(name string) measure.Length { v, _ := a.values[name].(measure.Length); return v }

// Density is a Density argument, 0 when neither given nor defaulted.
func (a Args) Density(name string) measure.Sett { v, _ := a.values[name].(measure.Sett); return v }

// Share is a Share argument, 0 when neither given nor defaulted.
func (a Args) Share(name string) measure.Ratio { v, _ := a.values[name].(measure.Ratio); return v }

// Yarn is a Yarn argument; ok is false when neither given nor defaulted.
func (a Args) Yarn(name string) (y measure.Yarn, ok bool) {
	y, ok = a.values[name].(measure.Yarn)
	return y, ok
}

// Text is a Choice, Words or LongText argument, "" when neither given nor defaulted.
func (a Args) Text(name string) string { v, _ := a.values[name].(string); return v }

// Cents is a Money argument in hundredths, 0 when neither given nor defaulted.
func (a Args) Cents(name string) int64 { v, _ := a.values[name].(int64); return v }

// read turns texts into typed values, defaults included, and checks bounds.
func (c *Command) read(given map[string]string, units measure.Units) (Args, error) {
	args := Args{given: given, values: map[string]any{}}
	units = c.unitsSaid(given, units)
	for i := range c.Params {
		p := &c.Params[i]
		if p.Kind == Enclosed { // comes beside the words
			continue
		}
		text, said := given[p.Name]
		if !said {
			text = p.Default
		}
		switch {
		case text == "" && p.Required:
			return Args{}, &calc.Fault{Code: MissingArgument, Key: KeyMissing, Field: p.Name, Args: []any{p.Name, c.path()}, Example: c.example(p.Name)}
		case text == "":
			continue
		}
		v, err := p.value(text, units)
		if err != nil {
			return Args{}, c.blame(p, text, units, err)
		}
		args.values[p.Name] = v
	}
	return args, nil
}

// unitsSaid are the units in which the bare numbers of a line are meant: those
// that the line names, or else those known before.
func (c *Command) unitsSaid(given map[string]string, before measure.Units) measure.Units {
	for i := range c.Params {
		p := &c.Params[i]
		if text, said := given[p.Name]; said && len(p.Units) > 0 {
			if choice, err := p.choice(text); err == nil {
				return p.Units[slices.Index(p.Choices, choice.(string))]
			}
		}
	}
	return before
}

// blame says which argument a Fault of a parser concerns and how it is written.
// What cannot be read may also be two arguments, the second with its name misspelt.
func (c *Command) blame(p *Param, text string, units measure.Units, err error) error {
	f, ok := errors.AsType[*calc.Fault](err)
	if !ok {
		return err
	}
	if stray := c.stray(p, text, units); stray != nil {
		return stray
	}
	g := *f
	if g.Field == "" {
		g.Key, g.Args = KeyUnreadable, []any{p.Name, f}
	}
	g.Field = p.Name
	if !strings.HasPrefix(g.Example, p.Name+":") {
		g.Example = c.example(p.Name)
	}
	return &g
}

// stray finds the first word that a value cannot go on with, if it looks like
// another argument's name, the raisd of "15in raisd 3", or is one whose own
// value cannot be read: "15in raised three".
func (c *Command) stray(p *Param, text string, units measure.Units) error {
	if !p.counts() || len(text) > measure.MaxText {
		return nil
	}
	words := strings.Fields(text)
	for i := 1; i < len(words); i++ {
		if !p.reads(words[:i], units) || p.reads(words[:i+1], units) {
			continue
		}
		if q := c.param(strings.ToLower(words[i])); q != nil {
			rest := make([]word, 0, len(words))
			for _, w := range words[i+1:] {
				rest = append(rest, word{text: w})
			}
			return c.unreadable(q, rest)
		}
		if near := Nearest(words[i], c.paramNames(), 1); len(near) > 0 && near[0] != p.Name {
			return c.unknownArgument(words[i])
		}
		return nil
	}
	return nil
}

func (p *Param) reads(words []string, units measure.Units) bool {
	_, err := p.value(strings.Join(words, " "), units)
	return err == nil
}

func (p *Param) value(text string, units measure.Units) (any, error) {
	switch p.Kind {
	case Count:
		return p.count(text)
	case Length:
		return bounded(p, text, func(s string) (measure.Length, error) { return measure.ParseLength(s, units) })
	case Density:
		return p.density(text, units)
	case Share:
		return bounded(p, text, measure.ParseRatio)
	case Yarn:
		return measure.ParseYarn(text)
	case Choice:
		return p.choice(text)
	case Money:
		return p.money(text)
	default:
		return p.text(text)
	}
}

func (p *Param) count(text string) (any, error) {
	text = strings.TrimSpace(text)
	digits := strings.TrimPrefix(text, "-")
	if digits == "" || strings.Trim(digits, "0123456789") != "" {
		return nil, &calc.Fault{Code: calc.BadValue, Key: KeyNotCount, Field: p.Name, Args: []any{p.Name, clip(text)}}
	}
	n, err := strconv.Atoi(text)
	low, high := p.bounds()
	if err != nil || n < low || n > high {
		return nil, &calc.Fault{Code: calc.OutOfRange, Key: KeyCountRange, Field: p.Name, Args: []any{p.Name, clip(text), low, high}}
	}
	return n, nil
}

// maxCount is the most that a count without a bound of its own may be.
const maxCount = 1_000_000

// bounds are the declared bounds of a count, or of a text's letters.
func (p *Param) bounds() (low, high int) {
	low, high = 0, maxCount
	if n, err := strconv.Atoi(p.Min); err == nil {
		low = n
	}
	if n, err := strconv.Atoi(p.Max); err == nil {
		high = n
	}
	return low, high
}

// bounded reads a quantity and holds it between the declared bounds.
func bounded[Q ~float64](p *Param, text string, parse func(string) (Q, error)) (any, error) {
	q, err := parse(text)
	if err != nil {
		return nil, err
	}
	low, errLow := parse(p.Min)
	high, errHigh := parse(p.Max)
	if (errLow == nil && q < low) || (errHigh == nil && q > high) {
		return nil, &calc.Fault{Code: calc.OutOfRange, Key: KeyValueRange, Field: p.Name, Args: []any{p.Name, clip(text), low, high}}
	}
	return q, nil
}

// density takes a bare number per inch, as the trade says it, except from someone
// who reckons in centimetres: her 40 may just as well be per 10 cm.
func (p *Param) density(text string, units measure.Units) (any, error) {
	v, err := bounded(p, text, measure.ParseSett)
	if err == nil && units == measure.Metric && measure.UnitsOf(text) == measure.Unset {
		return nil, BareDensity(p.Name, text)
	}
	return v, err
}

// LikelyMetric is the least bare number of threads, as read per inch, that is likelier
// per 10 cm (common practice, no source): 10 to 10 cm is an open net, and metric
// heddles begin at 20.
const LikelyMetric = 20 * measure.PerInch * (1 - 1e-9)

// BareDensity refuses a number of threads that may be per inch or per 10 cm.
func BareDensity(name, text string) *calc.Fault {
	text = clip(strings.TrimSpace(text))
	example := Written(name, text+"/10cm")
	if v, err := measure.ParseSett(text); err == nil && v < LikelyMetric {
		example = Written(name, text+"/in")
	}
	return &calc.Fault{Code: calc.BadValue, Key: KeyBareDensity, Field: name, Args: []any{name, text}, Example: example}
}

// choice takes a choice, whatever its capitals, blanks and hyphens; or else what
// can mean only one: the beginning of one, the number that one ends in, or an
// answer in her own words in which one stands ("in a hole").
func (p *Param) choice(text string) (any, error) {
	plain, words := squeeze(text), wordsOf(text)
	var meant []string
	for _, c := range p.Choices {
		name := squeeze(c)
		if name == plain {
			return c, nil
		}
		if plain != "" && strings.HasPrefix(name, plain) || numberEnds(name, plain) || stands(name, words) {
			meant = append(meant, c)
		}
	}
	if u := measure.UnitsOf(text); len(meant) == 0 && u != measure.Unset && slices.Contains(p.Units, u) { // cm, in, "
		return p.Choices[slices.Index(p.Units, u)], nil
	}
	if len(meant) == 1 {
		return meant[0], nil
	}
	f := &calc.Fault{Code: calc.BadValue, Key: KeyNotChoice, Field: p.Name, Args: []any{p.Name, clip(text), p.Choices}}
	if near := Nearest(text, p.Choices, 1); len(near) > 0 {
		f.Example = Written(p.Name, near[0])
	}
	return nil, f
}

// squeeze is a text in lower case without what stands between its words.
func squeeze(s string) string { return strings.Join(wordsOf(s), "") }

func wordsOf(s string) []string {
	return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsNumber(r) })
}

func numberEnds(name, number string) bool {
	return number != "" && strings.Trim(number, "0123456789") == "" && strings.TrimRight(name, "0123456789")+number == name
}

// stands tells whether whole words that follow each other make up a name.
func stands(name string, words []string) bool {
	for i := range words {
		joined := ""
		for _, w := range words[i:] {
			if joined += w; joined == name {
				return true
			}
			if !strings.HasPrefix(name, joined) {
				break
			}
		}
	}
	return false
}

// money reads "6", "6.50", "6,50" or "€6.50" into hundredths. Whose money it is
// makes no difference to the sum.
func (p *Param) money(text string) (any, error) {
	whole, part, _ := strings.Cut(strings.Replace(withoutCurrency(text), ",", ".", 1), ".")
	if whole == "" || len(whole) > 7 || len(part) > 2 || strings.Trim(whole+part, "0123456789") != "" {
		return nil, &calc.Fault{Code: calc.BadValue, Key: KeyNotMoney, Field: p.Name, Args: []any{p.Name, clip(text)}}
	}
	return strconv.ParseInt(whole+(part + "00")[:2], 10, 64)
}

// withoutCurrency drops a currency's sign on either side of a price.
func withoutCurrency(text string) string {
	return strings.TrimFunc(text, func(r rune) bool { return unicode.IsSpace(r) || unicode.Is(unicode.Sc, r) })
}

// text holds a text to its letters, a megabyte being no answer to anything.
func (p *Param) text(text string) (any, error) {
	_, most := p.bounds()
	if n := utf8.RuneCountInString(text); n > most {
		return nil, &calc.Fault{Code: calc.OutOfRange, Key: KeyTextTooLong, Field: p.Name, Args: []any{p.Name, n, most}}
	}
	return text, nil
}
