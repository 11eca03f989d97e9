package matrix

import (
	"maps"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"golang.org/x/net/html"

	"weftroom/bot"
)

// permitted are the tags that a program may be expected to show (Matrix
// specification, Client-Server API v1.18, "m.room.message msgtypes"; cited).
var permitted = strings.Fields(`del h1 h2 h3 h4 h5 h6 blockquote p a ul ol sup sub li b i u strong em s code hr br div
	table thead tbody tr th td caption pre span img details summary`)

// checkHTML fails when HTML holds a tag that is not permitted, an attribute, a
// comment, or tags that do not close as they opened, and gives its words.
func checkHTML(t testing.TB, h string) (words string) {
	t.Helper()
	var open []string
	var b strings.Builder
	for z := html.NewTokenizer(strings.NewReader(h)); ; {
		kind := z.Next()
		token := z.Token()
		switch kind {
		case html.ErrorToken:
			if len(open) > 0 {
				t.Errorf("%v are never closed in %q", open, h)
			}
			return b.String()
		case html.TextToken:
			b.WriteString(token.Data)
		case html.StartTagToken:
			if !slices.Contains(permitted, token.Data) || len(token.Attr) > 0 {
				t.Errorf("<%s> with %v in %q", token.Data, token.Attr, h)
			}
			if token.Data == "br" {
				b.WriteString("\n")
			} else {
				open = append(open, token.Data)
			}
		case html.EndTagToken:
			if len(open) == 0 || open[len(open)-1] != token.Data {
				t.Fatalf("</%s> closes %v in %q", token.Data, open, h)
			}
			open = open[:len(open)-1]
		default:
			t.Errorf("%v in %q", token, h)
		}
	}
}

// FuzzRender puts anything into every place for words. Both bodies must have
// nothing in them that a screen obeys, the HTML nothing but permitted tags, and
// in both must stand the same letters.
func FuzzRender(f *testing.F) {
	f.Add("A title", "words", "`code`")
	f.Add("<script>alert(1)</script>", `"><img src=x onerror=y>`, "</td></table>")
	f.Add("\x1b[2J", "\u202eturned\u2066", "\xff\xfe@room")
	f.Add("`", "``", "a`b`c`")
	f.Fuzz(func(t *testing.T, a, b, c string) {
		reply := bot.Reply{
			Title: a,
			Body: []bot.Block{
				bot.Paragraph(b), bot.Heading(c), bot.List{a, b}, bot.Table{Head: []string{b, c}, Rows: [][]string{{c, a}}, Numbers: []bool{true, false}},
				bot.Steps{{Label: a, Text: b, Short: c}}, bot.Picture{Alt: b},
			},
			Files:   []bot.File{{Name: a, MediaType: "text/plain", Alt: c, Bytes: []byte("x")}},
			Buttons: []bot.Button{{Label: b, Line: c}},
		}
		for _, r := range []bot.Reply{reply, {Problem: &bot.Problem{Message: a, Hint: b}}} {
			for _, p := range rendering().parts(r) {
				checkHarmless(t, p.Body)
				checkHarmless(t, p.HTML)
				words := checkHTML(t, p.HTML)
				checkHarmless(t, words)
				if p.File != nil {
					checkHarmless(t, p.File.Name)
					checkHarmless(t, p.File.Alt)
				}
				if more := tally(p.Body, words); p.HTML != "" && len(more) > 0 {
					t.Errorf("letters differ by %v in\n%s\nand\n%s", more, p.Body, words)
				}
			}
		}
	})
}

// tally counts how much more often each letter is in one text than in another. In
// which order they stand says nothing: a long cell of a table goes on in the next
// line, behind the cell beside it.
func tally(a, b string) map[rune]int {
	more := map[rune]int{}
	for _, r := range letters(a) {
		more[r]++
	}
	for _, r := range letters(b) {
		more[r]--
	}
	maps.DeleteFunc(more, func(_ rune, n int) bool { return n == 0 })
	return more
}

// letters are those of a text, without what stands between them.
func letters(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) {
			return r
		}
		return -1
	}, s)
}

func checkHarmless(t testing.TB, s string) {
	t.Helper()
	bad := strings.IndexFunc(s, func(r rune) bool { return unicode.IsControl(r) && r != '\n' || unicode.Is(unicode.Bidi_Control, r) })
	if bad >= 0 || !utf8.ValidString(s) {
		t.Errorf("something harmful at %d of %q", bad, s)
	}
}

// TestCheckHTML holds that the check can fail.
func TestCheckHTML(t *testing.T) {
	for _, h := range []string{"<script>x</script>", `<p class="x">x</p>`, "<p>x", "<!-- x -->", "<mx-reply>x</mx-reply>", "<time>x</time>"} {
		found := &finder{TB: t}
		checkHTML(found, h)
		if !found.failed {
			t.Errorf("%q passes", h)
		}
	}
}

// finder notes that a check failed.
type finder struct {
	testing.TB
	failed bool
}

func (f *finder) Helper()               {}
func (f *finder) Errorf(string, ...any) { f.failed = true }
func (f *finder) Fatalf(string, ...any) { f.failed = true }
