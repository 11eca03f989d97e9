package lesson

import (
	"bytes"
	"errors"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/iotest"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc/measure"
)

func TestChosenNames(t *testing.T) {
	for _, row := range []struct{ shows, given, want string }{
		{"a plain name", "Maren", "Maren"},
		{"blanks around and within", "  Maren \t of\n Tarnholm ", "Maren of Tarnholm"},
		{"letters of any script", "Ωμέγα 毛糸 Žofie", "Ωμέγα 毛糸 Žofie"},
		{"joined pictographs", "Rae 👩‍🔧", "Rae 👩‍🔧"},
		{"control characters", "M\x1b[2J\x00a\x7fren", "M[2Jaren"},
		{"marks that turn the direction", "\u202eneraM\u202c\u2066x\u2069", "neraMx"},
		{"what cannot be seen", "\u200b\u2060\ufeff", ""},
		{"bytes that are no text", "Ma\xffren", "Maren"},
		{"a call on everybody", "@everyone", "everyone"},
		{"a call in the midst", "hi @here and @@room", "hi here and room"},
		{"a mention as a chat writes it", "<@!123>", "<!123>"},
		{"a call after a comma", "a,@everyone", "a,everyone"},
		{"an address", "maren@tarn.example", "maren@tarn.example"},
		{"a call after a mark on nothing", "\u0301@everyone", "\u0301everyone"},
		{"two marks on a letter", "a\u0323\u0308b", "a\u0323\u0308b"},
		{"a tower of marks", "a" + strings.Repeat("\u0301", 500) + "b", "a\u0301\u0301b"},
		{"10,000 letters", strings.Repeat("ab", 5000), strings.Repeat("ab", 29) + "a…"},
		{"10,000 calls", strings.Repeat("@", 10_000) + "x", "x"},
	} {
		if got := chosenName(row.given); got != row.want {
			t.Errorf("%s: %q, want %q", row.shows, got, row.want)
		}
	}
}

// FuzzChosenName: whatever a chat calls someone, the name can stand in a line.
func FuzzChosenName(f *testing.F) {
	for _, s := range []string{"Maren", "@everyone", "\u202e<@1>", "a\u0301\u0301\u0301", "x\u200d@y", strings.Repeat("@ ", 300)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		name := chosenName(text)
		if n := utf8.RuneCountInString(name); n > maxName || !utf8.ValidString(name) {
			t.Fatalf("%q: %d letters of %q", text, n, name)
		}
		if again := chosenName(name); again != name {
			t.Fatalf("%q is %q and then %q", text, name, again)
		}
		before, marks := ' ', 0
		for _, r := range name {
			if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) {
				t.Fatalf("%q: %U in %q", text, r, name)
			}
			if r == '@' && !unicode.IsLetter(before) && !unicode.IsDigit(before) {
				t.Fatalf("%q: a call in %q", text, name)
			}
			if unicode.Is(unicode.M, r) {
				marks++
			} else {
				marks = 0
			}
			if marks > 2 {
				t.Fatalf("%q: a tower in %q", text, name)
			}
			before = r
		}
	})
}

func TestLinkCodes(t *testing.T) {
	for _, row := range []struct {
		shows, given string
		want         string // "" when it is none
	}{
		{"as it is shown", "K7MQ-2XR4", "K7MQ2XR4"},
		{"small, with a blank", " k7mq 2xr4 ", "K7MQ2XR4"},
		{"with the dash of a phone", "k7mq–2xr4", "K7MQ2XR4"},
		{"without anything between", "k7mq2xr4", "K7MQ2XR4"},
		{"too short", "K7MQ-2XR", ""},
		{"too long", "K7MQ-2XR44", ""},
		{"a letter that no code has", "K7MQ-2XRO", ""},
		{"a digit of another script", "K7MQ-2XR٤", ""},
		{"a word", "undoing", ""},
	} {
		code := linkCode(row.given)
		if isLinkCode(code) != (row.want != "") || row.want != "" && code != row.want {
			t.Errorf("%s: %q is read as %q", row.shows, row.given, code)
		}
	}
}

// FuzzLinkCode: what is taken for a code can be looked up and shown.
func FuzzLinkCode(f *testing.F) {
	for _, s := range []string{"K7MQ-2XR4", "k7mq 2xr4", "yes", "ſſſſſſſſ", "K7MQ—2XR4"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		code := linkCode(text)
		if !isLinkCode(code) {
			return
		}
		if again := linkCode(shownCode(code)); again != code || len(code[:class.LinkName]) != class.LinkName {
			t.Fatalf("%q is %q and, as it is shown, %q", text, code, again)
		}
	})
}

// TestRandomCodes: each letter comes as often as any other, and a source that
// fails is no code.
func TestRandomCodes(t *testing.T) {
	random := rand.NewChaCha8([32]byte{1})
	count, codes := map[byte]int{}, 20_000
	seen := map[string]bool{}
	for range codes {
		code, err := randomCode(random)
		if err != nil || !isLinkCode(code) {
			t.Fatalf("%q, %v", code, err)
		}
		seen[code] = true
		for i := range len(code) {
			count[code[i]]++
		}
	}
	mean := codes * linkSize / len(linkLetters)
	for _, l := range []byte(linkLetters) {
		if n := count[l]; n < mean*9/10 || n > mean*11/10 {
			t.Errorf("%c comes %d times, others %d", l, n, mean)
		}
	}
	if len(seen) < codes-5 {
		t.Errorf("only %d of %d codes differ", len(seen), codes)
	}
	// The bytes that cannot be shared out are drawn again.
	if code, err := randomCode(io.MultiReader(bytes.NewReader([]byte{255, 240, 0, 1, 2, 3, 4, 5, 6, 239}))); err != nil || code != "ABCDEFG9" {
		t.Errorf("%q, %v", code, err)
	}
	broken := errors.New("broken")
	if code, err := randomCode(iotest.ErrReader(broken)); !errors.Is(err, broken) {
		t.Errorf("%q, %v", code, err)
	}
}

// TestFilledSettings: who becomes one with another has her own settings and,
// where she made none, the other's; parted again, she has her own alone.
func TestFilledSettings(t *testing.T) {
	settings := rapid.Custom(func(t *rapid.T) class.Person {
		texts := rapid.SampledFrom([]string{"", "a", "b"})
		return class.Person{
			Name: texts.Draw(t, "name"), Zone: texts.Draw(t, "zone"), Hand: texts.Draw(t, "hand"), Answers: texts.Draw(t, "answers"),
			Units: rapid.SampledFrom([]measure.Units{measure.Unset, measure.Imperial, measure.Metric}).Draw(t, "units"),
			Quiet: class.Quiet{From: rapid.IntRange(0, 2).Draw(t, "from"), To: rapid.IntRange(0, 2).Draw(t, "to")}, Hidden: rapid.Bool().Draw(t, "hidden"),
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		own, other := settings.Draw(t, "own"), settings.Draw(t, "other")
		joined := own
		filled := fill(&joined, other)
		for _, s := range []struct {
			name               string
			own, other, joined any
			none               any
		}{
			{"name", own.Name, other.Name, joined.Name, ""}, {"zone", own.Zone, other.Zone, joined.Zone, ""},
			{"hand", own.Hand, other.Hand, joined.Hand, ""}, {"answers", own.Answers, other.Answers, joined.Answers, ""},
			{"units", own.Units, other.Units, joined.Units, measure.Unset}, {"quiet", own.Quiet, other.Quiet, joined.Quiet, class.Quiet{}},
			{"place", own.Hidden, other.Hidden, joined.Hidden, false},
		} {
			want := s.own
			if want == s.none {
				want = s.other
			}
			if s.joined != want {
				t.Fatalf("%s: %v of %v and %v", s.name, s.joined, s.own, s.other)
			}
		}
		parted := joined
		empty(&parted, other, filled)
		if parted != own {
			t.Fatalf("parted %+v, was %+v", parted, own)
		}
		// What she has changed meanwhile is hers.
		joined.Zone = "c"
		empty(&joined, other, filled)
		if joined.Zone != "c" {
			t.Fatalf("the zone that she set is gone: %+v", joined)
		}
	})
}

// TestMembersWithoutADatabase: where nothing but looms is kept, what needs more
// says so, or that there is nothing.
func TestMembersWithoutADatabase(t *testing.T) {
	r := newRoom()
	for _, row := range []struct{ line, says string }{
		{"join", "in the room where it meets"},
		{"leave", "No class meets here"},
		{"when", "No class meets here"},
		{"coming", "No class meets here"},
		{"ready", "No class meets here"},
		{"question Why?", "No class meets here"},
		{"settings", "Your settings"},
		{"settings hand:left", "Here I keep looms and nothing else"},
		{"link", "Here I keep looms and nothing else"},
		{"link yes", "Nothing is waiting"},
		{"link undo", "There is no link of yours"},
		{"me", "I keep nothing about you"},
		{"forget", "I keep nothing about you"},
		{"forget sure:yes", "I keep nothing about you"},
	} {
		if got := bot.Plain(r.say(row.line)); !strings.Contains(got, row.says) {
			t.Errorf("%s: %s", row.line, got)
		}
	}
}
