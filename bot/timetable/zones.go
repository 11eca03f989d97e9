package timetable

import (
	_ "embed"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"
	_ "time/tzdata" // every machine has the zones; newer rules of the machine's own go first
	"unicode"

	"golang.org/x/text/unicode/norm"

	"weftroom/bot"
	"weftroom/calc"
)

//go:embed zonenames.txt
var zoneNames string

//go:embed cities.txt
var cityNames string

const zoneExample = "Europe/Berlin"

// Zone finds a time zone by its IANA name ("Europe/Berlin", also
// "america/new york") or by a city: one that names a zone ("Berlin", "St.
// John's", "Zürich") or one of a table of larger cities ("Munich", "Portland,
// Oregon"). Capitals, accents, hyphens and apostrophes do not matter; names of
// former days ("Asia/Calcutta") give the zone that took their place. The
// location's String is an IANA name that Zone reads, fit to be stored.
//
// Every error is a *calc.Fault: a name of several places lists them, an unknown
// one lists what is spelt nearly so, and abbreviations (EST) and offsets
// (+02:00) are refused because they do not follow the clock changes of a place.
func Zone(name string) (*time.Location, error) {
	if _, err := split(name, zoneExample); err != nil {
		return nil, err
	}
	plain := fold(name)
	if zone, ok := gazetteer().zones[plain]; ok {
		return load(zone)
	}
	if zones, ok := abbreviations[plain]; ok {
		return nil, fault(calc.BadValue, KeyZoneAbbreviation, name, zones[0], zones)
	}
	if offsetForm.MatchString(strings.ToLower(strings.TrimSpace(name))) {
		return nil, fault(calc.BadValue, KeyZoneOffset, name, zoneExample)
	}
	names, zone := gazetteer().choices(plain)
	switch len(names) {
	case 0:
		return nil, unknownZone(name, plain)
	case 1:
		return load(zone)
	}
	return nil, fault(calc.BadValue, KeyZoneAmbiguous, name, names[0], names)
}

var offsetForm = compiled(`^(utc|gmt)? ?[-+−] ?\d{1,2}(:?\d{2})?$`)

// abbreviations are refused with zones that use them, those that most people
// mean first. From memory of the tz database.
var abbreviations = map[string][]string{
	"est":  {"America/New_York", "America/Toronto", "America/Panama"},
	"edt":  {"America/New_York", "America/Toronto"},
	"et":   {"America/New_York", "America/Toronto"},
	"cst":  {"America/Chicago", "America/Winnipeg", "America/Costa_Rica", "Asia/Shanghai", "America/Havana"},
	"cdt":  {"America/Chicago", "America/Winnipeg", "America/Havana"},
	"ct":   {"America/Chicago", "America/Winnipeg"},
	"mst":  {"America/Denver", "America/Edmonton", "America/Phoenix"},
	"mdt":  {"America/Denver", "America/Edmonton"},
	"mt":   {"America/Denver", "America/Edmonton"},
	"pst":  {"America/Los_Angeles", "America/Vancouver", "Asia/Manila"},
	"pdt":  {"America/Los_Angeles", "America/Vancouver"},
	"pt":   {"America/Los_Angeles", "America/Vancouver"},
	"akst": {"America/Anchorage"}, "akdt": {"America/Anchorage"}, "hst": {"Pacific/Honolulu"},
	"ast": {"America/Halifax", "America/Puerto_Rico", "Asia/Riyadh"}, "adt": {"America/Halifax"},
	"nst": {"America/St_Johns"}, "ndt": {"America/St_Johns"}, "brt": {"America/Sao_Paulo"},
	"gmt": {"Europe/London", "Africa/Accra", "UTC"}, "bst": {"Europe/London", "Asia/Dhaka"},
	"ist": {"Asia/Kolkata", "Europe/Dublin", "Asia/Jerusalem"},
	"wet": {"Europe/Lisbon"}, "west": {"Europe/Lisbon"},
	"cet":  {"Europe/Berlin", "Europe/Paris", "Europe/Madrid", "Europe/Rome"},
	"cest": {"Europe/Berlin", "Europe/Paris", "Europe/Madrid", "Europe/Rome"},
	"mez":  {"Europe/Berlin"}, "mesz": {"Europe/Berlin"},
	"eet": {"Europe/Athens", "Europe/Helsinki", "Europe/Kyiv"}, "eest": {"Europe/Athens", "Europe/Helsinki", "Europe/Kyiv"},
	"msk": {"Europe/Moscow"}, "sast": {"Africa/Johannesburg"},
	"jst": {"Asia/Tokyo"}, "kst": {"Asia/Seoul"}, "hkt": {"Asia/Hong_Kong"}, "sgt": {"Asia/Singapore"}, "pkt": {"Asia/Karachi"},
	"awst": {"Australia/Perth"}, "acst": {"Australia/Adelaide", "Australia/Darwin"}, "acdt": {"Australia/Adelaide"},
	"aest": {"Australia/Sydney", "Australia/Brisbane"}, "aedt": {"Australia/Sydney"},
	"nzst": {"Pacific/Auckland"}, "nzdt": {"Pacific/Auckland"},
}

// spot is one meaning of a city's name.
type spot struct {
	name string // as it can be written when the city alone is not enough
	zone string
}

type gazette struct {
	zones  map[string]string // folded IANA name → name in use now
	cities map[string][]spot // folded city
	names  []string          // the folded names of both, to find near ones
	shown  map[string]string // folded name → as it is written
}

// gazetteer is made once, from the two embedded lists.
var gazetteer = sync.OnceValue(func() *gazette {
	g := &gazette{zones: map[string]string{}, cities: map[string][]spot{}, shown: map[string]string{}}
	for line := range entries(zoneNames) {
		name, now, _ := strings.Cut(line, " ")
		if now == "" {
			now = name
		}
		g.zones[fold(name)] = now
		g.shown[fold(name)] = name
		if city, ok := cityOf(name); ok {
			g.add(city, spot{now, now})
		}
	}
	for line := range entries(cityNames) {
		full, zone, _ := strings.Cut(line, " = ")
		city, _, _ := strings.Cut(full, ",")
		g.add(city, spot{full, zone})
		g.add(full, spot{full, zone})
	}
	g.names = slices.Sorted(maps.Keys(g.shown))
	return g
})

func (g *gazette) add(city string, p spot) {
	key := fold(city)
	g.cities[key] = append(g.cities[key], p)
	g.shown[key] = city
}

// Places are names that Zone reads, by letter: cities, with their country where
// the city alone would not do, and then the zones in use.
var Places = sync.OnceValue(func() []string {
	g := gazetteer()
	var cities, zones []string
	for city := range g.cities {
		if names, _ := g.choices(city); len(names) == 1 {
			cities = append(cities, g.shown[city])
		}
	}
	for _, zone := range g.zones {
		zones = append(zones, zone)
	}
	slices.Sort(cities)
	slices.Sort(zones)
	return slices.Compact(append(cities, zones...))
})

// entries are the lines of a list that are no comments.
func entries(list string) func(yield func(string) bool) {
	return func(yield func(string) bool) {
		for line := range strings.Lines(list) {
			line = strings.TrimSpace(line)
			if line != "" && line[0] != '#' && !yield(line) {
				return
			}
		}
	}
}

// continents are the first parts of zone names whose last parts are places.
// Others ("US/Eastern") are names of former days for something larger.
var continents = []string{"Africa", "America", "Antarctica", "Arctic", "Asia", "Atlantic", "Australia", "Europe", "Indian", "Pacific"}

func cityOf(zone string) (string, bool) {
	parts := strings.Split(zone, "/")
	city := parts[len(parts)-1]
	if len(parts) == 1 || !slices.Contains(continents, parts[0]) || slices.Contains([]string{"North", "South", "West"}, city) {
		return "", false
	}
	return strings.ReplaceAll(city, "_", " "), true
}

// choices are the places of a city's folded name, one for each zone, as they
// can be written so that only that one is meant; zone is that of the first.
func (g *gazette) choices(city string) (names []string, zone string) {
	var zones []string
	for _, s := range g.cities[city] {
		if !slices.Contains(zones, s.zone) {
			zones, names = append(zones, s.zone), append(names, s.name)
		}
	}
	if len(names) == 0 {
		return nil, ""
	}
	return names, zones[0]
}

// unknownZone lists names that are spelt nearly so; of "Berlin, Somewhere" the
// part before the comma, which is not taken at its word: there are places of
// one name in many countries.
func unknownZone(name, plain string) error {
	const most = 4
	g := gazetteer()
	near := bot.Nearest(plain, g.aboutAsLong(plain), most)
	if city, _, ok := strings.Cut(name, ","); ok && len(g.cities[fold(city)]) > 0 {
		near = []string{fold(city)}
	}
	var names []string
	for _, n := range near {
		if all, _ := g.choices(n); len(all) > 1 {
			names = append(names, all...)
		} else {
			names = append(names, g.shown[n])
		}
	}
	if len(names) == 0 {
		return fault(calc.BadValue, KeyZone, name, zoneExample)
	}
	return fault(calc.BadValue, KeyZoneNear, name, names[0], names[:min(len(names), most)])
}

// aboutAsLong leaves out the names that are too long or too short to be near,
// most of a thousand, before they are compared letter by letter.
func (g *gazette) aboutAsLong(word string) []string {
	var names []string
	for _, n := range g.names {
		if d := len(n) - len(word); -d <= len(word)/2 && d <= len(word)/2 || strings.HasPrefix(n, word) {
			names = append(names, n)
		}
	}
	return names
}

// isZone tells whether a word of something else is meant as a zone.
func isZone(text string) bool {
	plain := fold(text)
	g := gazetteer()
	return g.zones[plain] != "" || len(g.cities[plain]) > 0 || len(abbreviations[plain]) > 0 || offsetForm.MatchString(text)
}

// unaccented are the Latin letters that are no letter with a mark.
var unaccented = strings.NewReplacer("ß", "ss", "ø", "o", "æ", "ae", "œ", "oe", "ł", "l", "đ", "d", "ð", "d", "þ", "th", "ı", "i", "ħ", "h",
	"_", " ", "-", " ", ",", " ", ".", "", "'", "", "’", "", "ʼ", "", "‘", "")

// fold gives names that people take for the same the same form.
func fold(name string) string {
	marked := norm.NFD.String(strings.ToLower(name))
	bare := strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return r
	}, marked)
	words := strings.Join(strings.Fields(unaccented.Replace(bare)), " ")
	return strings.ReplaceAll(strings.ReplaceAll(words, " /", "/"), "/ ", "/")
}

var loaded sync.Map // IANA name → *time.Location: reminders ask for the same few all day

func load(zone string) (*time.Location, error) {
	if loc, ok := loaded.Load(zone); ok {
		return loc.(*time.Location), nil
	}
	loc, err := time.LoadLocation(zone)
	if err != nil {
		return nil, err // a machine without its own zones has the embedded ones: not reached
	}
	loaded.Store(zone, loc)
	return loc, nil
}
