package timetable

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"weftroom/bot"
	"weftroom/calc"
)

// When is a time that a person wrote: what she wrote, and what it means.
type When struct {
	Wall Wall      // in the zone of the class, the hour as she said it
	Time time.Time // the instant, UTC
	How  Resolution
}

// MaxYears is how far ahead, in years, a date may be: further is a slip.
const MaxYears = 3

const whenExample = "tue 19:00"

// ParseWhen reads a day and then a time of day, in the zone of the class:
//
//	2026-12-01 19:00
//	1 dec 7pm          dec 1 19:00        the next such date
//	1 dec 2026 7:30 pm dec 1, 2026 19:00
//	tue 19:00          the next tuesday on which that is still to come, today included
//	today 7pm          tomorrow 18:30
//	tue 1 dec 19:00    the weekday must fit
//
// Capitals, "at", "on" and commas between words do not matter; ParseClock says
// how times are read. What two people could read in two ways is refused: a time
// alone, "next tuesday", 01/02/2026, a year of two digits; and so are dates that
// no calendar has, that are not after now, or that are more than MaxYears ahead.
// Every error is a *calc.Fault.
func ParseWhen(text string, now time.Time, loc *time.Location) (When, error) {
	words, err := split(text, whenExample)
	if err != nil {
		return When{}, err
	}
	p := whenParser{text: text, words: fillers(words), now: now, loc: loc, today: WallOf(now, loc)}
	if len(p.words) == 0 {
		return When{}, fault(calc.BadValue, KeyEmpty, text, whenExample)
	}
	return p.parse()
}

// fillers takes out the small words, and parts 2026-12-01T19:00.
func fillers(words []string) []string {
	var out []string
	for _, w := range words {
		switch {
		case w == "at" || w == "on":
		case isoAndTime.MatchString(w):
			out = append(out, w[:10], w[11:])
		default:
			out = append(out, w)
		}
	}
	return out
}

var (
	isoAndTime = compiled(`^\d{4}-\d{2}-\d{2}t\d`)
	isoDate    = compiled(`^(\d{4})-(\d{2})-(\d{2})$`)
	dayNumber  = compiled(`^(\d{1,2})(st|nd|rd|th|\.)?$`)
	yearNumber = compiled(`^\d{4}$`)
	shortYear  = compiled(`^(['’]?\d{2}|\d{3})$`)
	slashed    = compiled(`^(\d{1,2})[./-](\d{1,2})[./-](\d{4})$`)
	numeric    = compiled(`^\d{1,4}[./-]\d{1,2}([./-]\d{0,4})?$`)
)

// whenParser takes the words one after the other; it reads a day into date and
// then a time of day.
type whenParser struct {
	text  string
	words []string
	now   time.Time
	loc   *time.Location
	today Wall

	weekday  *time.Weekday // as written beside or instead of a date
	date     Wall          // at 0:00
	dated    bool          // a date stands, not only a weekday
	yearless bool          // the year is still to be found
}

func (p *whenParser) fault(code calc.Code, key calc.Key, args ...any) error {
	return fault(code, key, p.text, whenExample, args...)
}

// word is the one to be read next, "" at the end.
func (p *whenParser) word() string {
	if len(p.words) == 0 {
		return ""
	}
	return p.words[0]
}

func (p *whenParser) take() { p.words = p.words[1:] }

func (p *whenParser) parse() (When, error) {
	if d, ok := weekdays[p.word()]; ok {
		p.weekday = &d
		p.take()
	}
	if err := p.day(); err != nil {
		return When{}, err
	}
	clock, err := p.clock()
	if err != nil {
		return When{}, err
	}
	return p.settle(clock)
}

// day reads the date, if there is one.
func (p *whenParser) day() error {
	w := p.word()
	_, isMonth := months[w]
	switch {
	case w == "today" || w == "tomorrow":
		p.take()
		p.dated, p.date = true, p.today.At(0)
		if w == "tomorrow" {
			p.date = p.date.AddDays(1)
		}
		return nil
	case isoDate.MatchString(w):
		p.take()
		return p.iso(isoDate.FindStringSubmatch(w))
	case oneReading(w):
		p.take()
		return p.numbers(slashed.FindStringSubmatch(w))
	case isMonth:
		p.take()
		day, err := p.dayNumber()
		if err != nil {
			return err
		}
		return p.year(day, months[w])
	case dayNumber.MatchString(w) && !(digits(w) && len(p.words) == 1): // a number alone is an hour: "tue 7"
		day, err := p.dayNumber()
		if err != nil {
			return err
		}
		month, ok := months[p.word()]
		if !ok {
			return p.unreadable(KeyMonth)
		}
		p.take()
		return p.year(day, month)
	case p.weekday == nil:
		return p.unreadable(KeyNoDate)
	}
	return nil
}

func (p *whenParser) iso(parts []string) error {
	year, _ := strconv.Atoi(parts[1])
	month, _ := strconv.Atoi(parts[2])
	day, _ := strconv.Atoi(parts[3])
	return p.civil(year, month, day)
}

// civil takes a date in numbers.
func (p *whenParser) civil(year, month, day int) error {
	if month < 1 || month > 12 {
		return p.fault(calc.OutOfRange, KeyMonthNumber, fmt.Sprintf("%02d", month))
	}
	p.dated, p.date = true, Wall{Year: year, Month: time.Month(month), Day: day}
	return p.exists(p.date)
}

// oneReading tells whether a date in numbers is the same day in both orders, or a
// day at all in one at most: 31.12.2026 and 5/5/2026, not 1/2/2026.
func oneReading(w string) bool {
	parts := slashed.FindStringSubmatch(w)
	if parts == nil {
		return false
	}
	a, _ := strconv.Atoi(parts[1])
	b, _ := strconv.Atoi(parts[2])
	return a == b || a > 12 || b > 12
}

// numbers reads such a date: the one that can be no month is the day.
func (p *whenParser) numbers(parts []string) error {
	day, _ := strconv.Atoi(parts[1])
	month, _ := strconv.Atoi(parts[2])
	if month > 12 {
		day, month = month, day
	}
	year, _ := strconv.Atoi(parts[3])
	return p.civil(year, month, day)
}

func (p *whenParser) dayNumber() (int, error) {
	parts := dayNumber.FindStringSubmatch(p.word())
	if parts == nil {
		return 0, p.unreadable(KeyDay)
	}
	day, _ := strconv.Atoi(parts[1])
	if suffix := parts[2]; suffix != "" && suffix != "." && suffix != ordinal(day) {
		return 0, p.fault(calc.BadValue, KeyDay, p.word())
	}
	p.take()
	return day, nil
}

// ordinal is the ending of 1st, 2nd, 3rd, 4th.
func ordinal(n int) string {
	if n/10 != 1 {
		switch n % 10 {
		case 1:
			return "st"
		case 2:
			return "nd"
		case 3:
			return "rd"
		}
	}
	return "th"
}

// year reads the year of a date, if one stands there. The last word is never
// the year, because a time must follow.
func (p *whenParser) year(day int, month time.Month) error {
	p.dated, p.date = true, Wall{Month: month, Day: day}
	w := p.word()
	if len(p.words) > 1 && shortYear.MatchString(w) {
		return p.fault(calc.BadValue, KeyYear, w)
	}
	if !yearNumber.MatchString(w) {
		p.yearless = true
		return nil
	}
	p.take()
	p.date.Year, _ = strconv.Atoi(w)
	return p.exists(p.date)
}

// exists refuses a day that its month does not have.
func (p *whenParser) exists(w Wall) error {
	length := time.Date(w.Year, w.Month+1, 0, 0, 0, 0, 0, time.UTC).Day()
	if w.Day < 1 || w.Day > length {
		return p.fault(calc.OutOfRange, KeyNoSuchDay, w.Day, MonthKey(w.Month), w.Year, length)
	}
	return nil
}

// clock reads the time of day, with which the text must end.
func (p *whenParser) clock() (Clock, error) {
	w := p.word()
	if w == "" {
		return 0, p.noTime()
	}
	if dayLike := numeric.MatchString(w) && len(p.words) > 1; dayLike || !clockLike.MatchString(w) && !digits(w) {
		return 0, p.unreadable(KeyClock)
	}
	c, err := readClock(w, p.text, whenExample)
	if err != nil {
		return 0, err
	}
	if p.take(); p.word() != "" {
		return 0, p.unreadable(KeyOrder)
	}
	return c, nil
}

func (p *whenParser) noTime() error {
	example := strings.TrimSpace(p.text) + " 19:00"
	if _, err := ParseWhen(example, p.now, p.loc); err != nil {
		example = whenExample
	}
	return fault(calc.MissingArgument, KeyNoTime, p.text, example)
}

// settle finds the instant, and holds the date against the weekday and now.
func (p *whenParser) settle(c Clock) (When, error) {
	if !p.dated {
		return p.nextWeekday(c), nil
	}
	w := p.date.At(c)
	if p.yearless {
		w = p.nextDate(w)
		if err := p.exists(w); err != nil {
			return When{}, err
		}
	}
	when := p.when(w)
	if !when.Time.After(p.now) {
		return When{}, fault(calc.OutOfRange, KeyPast, p.text, "tomorrow "+c.String(), w, p.today)
	}
	if (Wall{Year: p.today.Year + MaxYears, Month: p.today.Month, Day: p.today.Day}).AddDays(1).Before(w) {
		return When{}, p.fault(calc.OutOfRange, KeyFar, w, MaxYears)
	}
	if p.weekday != nil && w.Weekday() != *p.weekday {
		return When{}, fault(calc.Conflict, KeyWeekday, p.text, w.String(), WeekdayKey(*p.weekday), w, WeekdayKey(w.Weekday()))
	}
	return when, nil
}

func (p *whenParser) when(w Wall) When {
	t, how := Resolve(w, p.loc)
	return When{Wall: w, Time: t, How: how}
}

// nextWeekday is today only if the time is still to come.
func (p *whenParser) nextWeekday(c Clock) When {
	ahead := (int(*p.weekday) - int(p.today.Weekday()) + 7) % 7
	when := p.when(p.today.AddDays(ahead).At(c))
	if !when.Time.After(p.now) {
		when = p.when(when.Wall.AddDays(7))
	}
	return when
}

// nextDate gives w the year of the next such date. On 29 feb that year may have
// no such day; which is refused later rather than put off for years.
func (p *whenParser) nextDate(w Wall) Wall {
	w.Year = p.today.Year
	if t, _ := Resolve(w, p.loc); !t.After(p.now) {
		w.Year++
	}
	return w
}

// unreadable says what is wrong with the next word, which was not expected
// where it stands: something of its own, or what key says.
func (p *whenParser) unreadable(key calc.Key) error {
	w := p.word()
	_, isMonth := months[w]
	_, isWeekday := weekdays[w]
	isClock := clockLike.MatchString(w)
	switch {
	case w == "" && key != KeyMonth:
		return fault(calc.MissingArgument, KeyNoDate, p.text, whenExample)
	case w == "next" || w == "this" || w == "coming" || w == "last":
		return p.fault(calc.BadValue, KeyNext, w)
	case numeric.MatchString(w) && (!isClock || len(p.words) > 1):
		return p.fault(calc.BadValue, KeyNumeric, w)
	case isClock && key == KeyNoDate && len(p.words) == 1, isClock && key == KeyDay:
		return p.noDate()
	case isClock && key == KeyMonth:
		return p.fault(calc.BadValue, KeyMonth, w)
	case digits(w) && key == KeyNoDate && len(p.words) == 1:
		return p.fault(calc.BadValue, KeyHourAlone, w)
	case isMonth || isWeekday || isoDate.MatchString(w) || isClock || w == "today" || w == "tomorrow":
		return p.fault(calc.BadValue, KeyOrder, w)
	case isZone(strings.Join(p.words, " ")):
		return p.fault(calc.BadValue, KeySaidZone, clip(strings.Join(p.words, " ")), p.loc.String())
	case isZone(w):
		return p.fault(calc.BadValue, KeySaidZone, w, p.loc.String())
	case letters(w):
		return p.unknownWord(w)
	case key == KeyNoDate || key == KeyOrder:
		return p.fault(calc.BadValue, KeyWord, clip(w))
	}
	return p.fault(calc.BadValue, key, clip(w))
}

// noDate refuses a time alone: today or tomorrow is a small word to write, and
// a session on the wrong day is not a small mistake.
func (p *whenParser) noDate() error {
	c, err := readClock(p.word(), p.text, whenExample)
	if err != nil {
		return err
	}
	return fault(calc.MissingArgument, KeyNoDate, p.text, "tomorrow "+c.String())
}

// vocabulary is every word that a date can have.
var vocabulary = sync.OnceValue(func() []string {
	return slices.Concat([]string{"noon", "today", "tomorrow"}, vocabularyOf(months), vocabularyOf(weekdays))
})

// vocabularyOf is sorted, so that of two words as near the same is always named.
func vocabularyOf[T any](words map[string]T) []string { return slices.Sorted(maps.Keys(words)) }

func (p *whenParser) unknownWord(w string) error {
	if near := bot.Nearest(w, vocabulary(), 1); len(near) > 0 {
		return p.fault(calc.BadValue, KeyWordNear, clip(w), near[0])
	}
	return p.fault(calc.BadValue, KeyWord, clip(w))
}
