package bot

import (
	"fmt"
	"strings"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// Texts is the catalogue of everything said to people in one language: a
// sentence for each key, with the verbs of package fmt. Quantities are given to
// %s and print in the reader's units first, the other units in brackets. A
// sentence need not speak of everything that it is told: one without a verb is
// said as it stands, and one that names its verbs by number may leave some out.
type Texts map[calc.Key]string

// Say renders a sentence. A missing key is shown as itself, so that it is seen
// in tests and harms nobody.
func (t Texts) Say(u measure.Units, key calc.Key, args ...any) string {
	format, ok := t[key]
	if !ok {
		return string(key)
	}
	if len(args) == 0 || !strings.Contains(format, "%") {
		return format
	}
	shown := make([]any, len(args))
	for i, a := range args {
		shown[i] = show(u, t, a)
	}
	return fmt.Sprintf(format, shown...)
}

// Count renders key+".one" or key+".many" by n, which is also the first argument.
func (t Texts) Count(u measure.Units, key calc.Key, n int, args ...any) string {
	form := key + ".many"
	if n == 1 {
		form = key + ".one"
	}
	return t.Say(u, form, append([]any{n}, args...)...)
}

// show turns quantities and keys into words and leaves the rest as it is.
func show(u measure.Units, t Texts, a any) any {
	switch a := a.(type) {
	case measure.Length:
		return u.BothLengths(a)
	case measure.Mass:
		return u.BothMasses(a)
	case measure.Need:
		return u.BothLengthsUp(measure.Length(a))
	case measure.NeedMass:
		return u.BothMassesUp(measure.Mass(a))
	case measure.Sett:
		return u.BothSetts(a)
	case measure.Ratio:
		return u.Ratio(a)
	case measure.Tex:
		return measure.Decimal(float64(a))
	case float64:
		return measure.Decimal(a)
	case calc.Key:
		return t.Say(u, a)
	case *calc.Fault:
		return t.Say(u, a.Key, a.Args...)
	case []string:
		return strings.Join(a, ", ")
	}
	return a
}

// has tells whether the catalogue holds key.
func (t Texts) has(key calc.Key) bool {
	_, ok := t[key]
	return ok
}
