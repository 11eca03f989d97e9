package bot

import (
	"errors"
	"strconv"
	"strings"
	"unicode"

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
	for i := range c.Params {
		p := &c.Params[i]
		text, ok := given[p.Name]
		if !ok {
			text = p.Default
		}
		if text == "" && !ok {
			if p.Required {
				return Args{}, &calc.Fault{Code: MissingArgument, Key: KeyMissing, Field: p.Name, Args: []any{p.Name, c.Name}, Example: c.example(p.Name)}
			}
			continue
		}
		v, err := p.value(text, units)
		if err != nil {
			return Args{}, c.blame(p, err)
		}
		args.values[p.Name] = v
	}
	return args, nil
}

// blame says which argument a Fault of a parser concerns and how it is written.
func (c *Command) blame(p *Param, err error) error {
	var f *calc.Fault
	if !errors.As(err, &f) {
		return err
	}
	g := *f
	if g.Field == "" {
		g.Key, g.Args = KeyUnreadable, []any{p.Name, f}
	}
	g.Field = p.Name
	if e := c.example(p.Name); strings.HasPrefix(e, p.Name+":") {
		g.Example = e
	}
	return &g
}

func (p *Param) value(text string, units measure.Units) (any, error) {
	switch p.Kind {
	case Count:
		return p.count(text)
	case Length:
		return bounded(p, text, func(s string) (measure.Length, error) { return measure.ParseLength(s, units) })
	case Density:
		return bounded(p, text, measure.ParseSett)
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
	digits := strings.TrimSpace(text)
	if digits == "" || strings.Trim(digits, "0123456789") != "" {
		if d, ok := strings.CutPrefix(digits, "-"); !ok || d == "" || strings.Trim(d, "0123456789") != "" {
			return nil, &calc.Fault{Code: calc.BadValue, Key: KeyNotCount, Field: p.Name, Args: []any{p.Name, clip(text)}}
		}
	}
	n, err := strconv.Atoi(digits)
	low, high := p.bounds()
	if err != nil || n < low || n > high {
		return nil, &calc.Fault{Code: calc.OutOfRange, Key: KeyCountRange, Field: p.Name, Args: []any{p.Name, clip(text), low, high}}
	}
	return n, nil
}

func (p *Param) bounds() (low, high int) {
	low, high = 0, 1_000_000
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
	if len(meant) == 1 {
		return meant[0], nil
	}
	return nil, &calc.Fault{Code: calc.BadValue, Key: KeyNotChoice, Field: p.Name, Args: []any{p.Name, clip(text), p.Choices}}
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

// money reads "6", "6.50" or "6,50" into hundredths.
func (p *Param) money(text string) (any, error) {
	whole, part, _ := strings.Cut(strings.Replace(strings.TrimSpace(text), ",", ".", 1), ".")
	bad := &calc.Fault{Code: calc.BadValue, Key: KeyNotMoney, Field: p.Name, Args: []any{p.Name, clip(text)}}
	if len(part) > 2 || len(whole) > 7 || strings.Trim(whole+part, "0123456789") != "" || whole == "" {
		return nil, bad
	}
	n, err := strconv.ParseInt(whole+(part + "00")[:2], 10, 64)
	if err != nil {
		return nil, bad
	}
	return n, nil
}

func (p *Param) text(text string) (any, error) {
	_, most := p.bounds()
	if p.Max == "" {
		most = MaxLine
	}
	if n := len([]rune(text)); n > most {
		return nil, &calc.Fault{Code: calc.OutOfRange, Key: KeyTextTooLong, Field: p.Name, Args: []any{p.Name, n, most}}
	}
	return text, nil
}
