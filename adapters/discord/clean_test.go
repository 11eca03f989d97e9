package discord

import (
	"strings"
	"testing"
	"unicode/utf16"

	"pgregory.net/rapid"
)

// TestWhatIsCleanStaysSo: of a text that is taken for clean nothing would be
// taken out, and its length is that of its UTF-16 form.
func TestWhatIsCleanStaysSo(t *testing.T) {
	odd := rapid.SampledFrom([]rune{
		'a', 'Z', ' ', '\n', '\r', '\t', '\v', 0, 0x1b, 0x7f, 0x85, 0x9f, 0xa0, 0xad, 0x2003, 0x2028, 0x200b, 0x200d, 0x202e, 0x202f, 0xfeff, 0xfffd,
		'ü', '→', '“', '😀', 0xE0001,
	})
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.StringOf(odd), rapid.String(), rapid.Just("bad \xff byte")).Draw(t, "text")
		wash := func(s string) string { return clean(s + "\x00") } // never taken for clean
		if isClean(text) && wash(text) != text {
			t.Fatalf("%q is taken for clean, and would become %q", text, wash(text))
		}
		if got := clean(text); !strings.ContainsRune(got, 0xfffd) && !isClean(got) && !strings.ContainsAny(got, "\u200c\u200d") {
			t.Fatalf("%q is not clean after it was cleaned", got)
		}
		blank := func(r rune) bool { return r == ' ' || r == '\n' }
		if want := strings.Join(strings.FieldsFunc(clean(text), blank), " "); oneLine(text) != want {
			t.Fatalf("%q is %q on one line, not %q", text, oneLine(text), want)
		}
		if want := len(utf16.Encode([]rune(text))); size(text) != want {
			t.Fatalf("%q has %d units, not %d", text, size(text), want)
		}
	})
}
