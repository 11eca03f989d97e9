package timetable

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"weftroom/calc"
)

func TestZone(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"an IANA name", "Europe/Berlin", "Europe/Berlin"},
		{"in any capitals", "eUROPE/bERLIN", "Europe/Berlin"},
		{"spaces for underscores", "america / new york", "America/New_York"},
		{"three parts", "america/argentina/buenos aires", "America/Argentina/Buenos_Aires"},
		{"a zone of its own, though the same as another", "Europe/Oslo", "Europe/Oslo"},
		{"a name of former days", "Asia/Calcutta", "Asia/Kolkata"},
		{"a name of former days for a country", "US/Eastern", "America/New_York"},
		{"one without a continent", "japan", "Asia/Tokyo"},
		{"UTC", "utc", "UTC"},
		{"UTC by its longer name", "Etc/UTC", "UTC"},

		{"a city", "Berlin", "Europe/Berlin"},
		{"a city of two words", "new york", "America/New_York"},
		{"without its accents", "sao paulo", "America/Sao_Paulo"},
		{"with its accents", "São Paulo", "America/Sao_Paulo"},
		{"accents in two characters", "Zu\u0308rich", "Europe/Zurich"},
		{"an umlaut", "Zürich", "Europe/Zurich"},
		{"without an apostrophe", "St Johns", "America/St_Johns"},
		{"with dot and curly apostrophe", "St. John’s", "America/St_Johns"},
		{"hyphens as they come", "Port au Prince", "America/Port-au-Prince"},
		{"a former name of a city", "Kiev", "Europe/Kyiv"},
		{"a city by two old names of one zone", "Louisville", "America/Kentucky/Louisville"},
		{"a city of the table", "Munich", "Europe/Berlin"},
		{"the same in its own language", "münchen", "Europe/Berlin"},
		{"a letter that is none with a mark", "ŁÓDŹ", "Europe/Warsaw"},
		{"a city with its state", "portland, oregon", "America/Los_Angeles"},
		{"without the comma", "Portland Maine", "America/New_York"},
		{"of one name in one zone twice", "St Paul", "America/Chicago"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			loc, err := Zone(tt.text)
			if err != nil || loc.String() != tt.want {
				t.Errorf("%q is %v, %v; want %s", tt.text, loc, err, tt.want)
			}
		})
	}
}

func TestZoneRefuses(t *testing.T) {
	tests := []struct {
		name, text string
		key        calc.Key
		lists      []string // must be the second argument; nil where there is none
	}{
		{"nothing", " ", KeyEmpty, nil},
		{"too long", strings.Repeat("a", 200), KeyTooLong, nil},
		{"a hidden mark", "Berlin\u200f", KeyText, nil},
		{"two cities of the table", "Birmingham", KeyZoneAmbiguous, []string{"Birmingham, Alabama", "Birmingham, England"}},
		{"one of the table and one of IANA", "cordoba", KeyZoneAmbiguous, []string{"America/Argentina/Cordoba", "Cordoba, Spain"}},
		{"spelt nearly so", "Berln", KeyZoneNear, []string{"Berlin", "Bern", "Bergen"}},
		{"nearly an ambiguous one", "Birminghm", KeyZoneNear, []string{"Birmingham, Alabama", "Birmingham, England"}},
		{"a city in a country that we do not know it in", "Paris, Texas", KeyZoneNear, []string{"Paris"}},
		{"letters for several places", "EST", KeyZoneAbbreviation, []string{"America/New_York", "America/Toronto", "America/Panama"}},
		{"letters that are also a zone's name", "GMT", KeyZoneAbbreviation, []string{"Europe/London", "Africa/Accra", "UTC"}},
		{"an offset", "+02:00", KeyZoneOffset, nil},
		{"an offset from UTC", "UTC+2", KeyZoneOffset, nil},
		{"an offset with a true minus", "gmt −5", KeyZoneOffset, nil},
		{"the zone of the machine", "Local", KeyZone, nil},
		{"a path", "../../etc/passwd", KeyZone, nil},
		{"no place", "qqqqqqqqqqqq", KeyZone, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			loc, err := Zone(tt.text)
			var f *calc.Fault
			if !errors.As(err, &f) || f.Key != tt.key {
				t.Fatalf("%q is %v, %v; want %s", tt.text, loc, err, tt.key)
			}
			if tt.lists != nil && !slices.Equal(f.Args[1].([]string), tt.lists) {
				t.Errorf("%q lists %q, want %q", tt.text, f.Args[1], tt.lists)
			}
			if _, err := Zone(f.Example); err != nil {
				t.Errorf("the example %q: %v", f.Example, err)
			}
		})
	}
}

// TestZoneListsLead holds both lists and the abbreviations against the zones
// there are, and against each other.
func TestZoneListsLead(t *testing.T) {
	n := 0
	for line := range entries(zoneNames) {
		n++
		name, now, _ := strings.Cut(line, " ")
		if now == "" {
			now = name
		}
		if loc, err := Zone(name); err != nil || loc.String() != now {
			t.Errorf("%s is %v, %v", name, loc, err)
		}
		if _, err := time.LoadLocation(now); err != nil {
			t.Errorf("%s: %v", now, err)
		}
	}
	cities := 0
	for line := range entries(cityNames) {
		cities++
		full, zone, ok := strings.Cut(line, " = ")
		if _, known := gazetteer().zones[fold(zone)]; !ok || !known || gazetteer().zones[fold(zone)] != zone {
			t.Errorf("%q: the zone is not in use", line)
		}
		if loc, err := Zone(full); err != nil || loc.String() != zone {
			t.Errorf("%s is %v, %v", full, loc, err)
		}
	}
	if n < 500 || cities < 150 {
		t.Errorf("%d names and %d cities: a list is not there", n, cities)
	}
	for letters, zones := range abbreviations {
		for _, z := range zones {
			if loc, err := Zone(z); err != nil || loc.String() != z {
				t.Errorf("%s: %s is %v, %v", letters, z, loc, err)
			}
		}
	}
	for city := range gazetteer().cities {
		names, _ := gazetteer().choices(city)
		for _, name := range names {
			if _, err := Zone(name); err != nil {
				t.Errorf("%s lists %q: %v", city, name, err)
			}
		}
	}
}

// TestCitiesKeepTheirCountrysTime looks for slips in the table: the cities of a
// country that has one time all keep it.
func TestCitiesKeepTheirCountrysTime(t *testing.T) {
	oneTime := map[string]string{
		"Germany": "Europe/Berlin", "France": "Europe/Paris", "Italy": "Europe/Rome", "Poland": "Europe/Warsaw",
		"Switzerland": "Europe/Zurich", "Austria": "Europe/Vienna", "Netherlands": "Europe/Amsterdam", "Belgium": "Europe/Brussels",
		"England": "Europe/London", "Scotland": "Europe/London", "Wales": "Europe/London", "Ireland": "Europe/Dublin",
		"India": "Asia/Kolkata", "Japan": "Asia/Tokyo", "China": "Asia/Shanghai", "Pakistan": "Asia/Karachi",
		"Spain": "Europe/Madrid", "Norway": "Europe/Oslo", "Sweden": "Europe/Stockholm", "Finland": "Europe/Helsinki",
		"California": "America/Los_Angeles", "Texas": "America/Chicago", "Ohio": "America/New_York", "Ontario": "America/Toronto",
		"New Zealand": "Pacific/Auckland", "South Africa": "Africa/Johannesburg", "Ukraine": "Europe/Kyiv", "Israel": "Asia/Jerusalem",
	}
	for line := range entries(cityNames) {
		full, zone, _ := strings.Cut(line, " = ")
		_, country, _ := strings.Cut(full, ", ")
		if want := oneTime[country]; want != "" && want != zone {
			t.Errorf("%s keeps %s", full, zone)
		}
	}
}

func FuzzZone(f *testing.F) {
	for _, name := range []string{"Europe/Berlin", "birmingham", "EST", "UTC+5:30", "St. John’s", "Paris, Texas", "/", "a/b/c", "Ⅷ", "İstanbul"} {
		f.Add(name)
	}
	f.Fuzz(func(t *testing.T, name string) {
		loc, err := Zone(name)
		sound(t, name, err, func(example string) error { _, err := Zone(example); return err })
		if err != nil {
			return
		}
		if again, err := Zone(loc.String()); err != nil || again != loc {
			t.Errorf("%q is %s, and that %v, %v", name, loc, again, err)
		}
	})
}
