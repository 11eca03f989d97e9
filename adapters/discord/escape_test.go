package discord

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"
)

func TestEscape(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"plain words stay", "97 ends, 10 to the inch (about)", "97 ends, 10 to the inch (about)"},
		{"an argument stays", "row raised:3 passes:3", "row raised:3 passes:3"},
		{"a time stays", "at 19:00", "at 19:00"},
		{"bold", "**bold** and __under__", `\*\*bold\*\* and \_\_under\_\_`},
		{"a spoiler", "||hidden||", `\|\|hidden\|\|`},
		{"a quotation", "> said", `\> said`},
		{"small print", "-# small", `\-# small`},
		{"a heading", "# big", `\# big`},
		{"a heading of the second line", "x\n## big", "x\n\\## big"},
		{"a number sign inside stays", "no. #3", "no. #3"},
		{"a list", "- one\n* two\n+ three", "\\- one\n\\* two\n\\+ three"},
		{"a numbered list", "1. one\n  22) two", "1\\. one\n  22\\) two"},
		{"a decimal stays", "24.1 per inch", "24.1 per inch"},
		{"a number inside stays", "row 1. then", "row 1. then"},
		{"everyone", "@everyone @here", `\@everyone \@here`},
		{"a person", "<@123456> <@!1> <@&2> <#3>", `\<\@123456\> \<\@!1\> \<\@&2\> \<#3\>`},
		{"an instant", "<t:1:F>", `\<t:1:F\>`},
		{"an emoji of a server", "<:name:123>", `\<\:name:123\>`},
		{"an emoji", ":smile: a:b:", `\:smile: a\:b:`},
		{"an emoji of digits", ":100: :+1:", `\:100: \:+1:`},
		{"hours are no emoji", "quiet:22:00-7:00", "quiet:22:00-7:00"},
		{"code", "`x` ```y```", "\\`x\\` \\`\\`\\`y\\`\\`\\`"},
		{"a link with other words", "[safe](https://evil.example/)", `\[safe\](<https://evil.example/>)`},
		{"an address", "see https://meet.example/a?b=c.", "see <https://meet.example/a?b=c>."},
		{"an address of http", "http://meet.example/a", `http\://meet.example/a`},
		{"an address of another kind", "discord://x", `discord\:\/\/x`},
		{"an address that hides where it leads", "https://good.example@evil.example/", `https\://good.example\@evil.example/`},
		{"an address with other letters in it", "https://gооd.example/", `https\://gооd.example/`},
		{"an invitation", "discord.gg/abc", `discord.gg\/abc`},
		{"a backslash", `a\b`, `a\\b`},
		{"what steers a screen", "a\x1b[2Jb\u202ec\u200bd", `a\[2Jbcd`},
		{"no text", "a\xff\xfeb", "ab"},
		{"other blanks", "a\tb\u2028c", "a b c"},
		{"a pictograph of several", "👩‍🏫", "👩‍🏫"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := escape(c.text); got != c.want {
				t.Errorf("%q becomes %q, want %q", c.text, got, c.want)
			}
			checkEscaped(t, c.text)
		})
	}
}

// FuzzEscape: whatever the text, a reader sees it as it stands, and nothing in
// it is more than letters, but for plain addresses that lead where they say.
func FuzzEscape(f *testing.F) {
	for _, seed := range []string{
		"", "plain", "**b** _i_ ~~s~~ ||h||", "<@1> <@&2> <#3> </x:4> <:e:5> <a:e:6> <t:7:R>", "@everyone", ":a: ::b:: :c:d:",
		"[a](https://b.example)", "https://a.example/b_c_d*e*", "<https://a.example>", "\\*x\\*", "`a` ``b`` ```c```", "# h\n-# s\n> q\n1. n\n- l",
		"discord.gg/x discord.com/invite/y", "https://a.example/\\", "https://a.example.", "a\u202eb\x00", "\\", "`", "1.", "https://a.bc:80/#:x:",
	} {
		f.Add(seed)
	}
	f.Fuzz(checkEscaped)
}

func checkEscaped(t *testing.T, text string) {
	escaped := escape(text)
	r := read(escaped)
	if want := clean(text); r.text != want {
		t.Errorf("%q is read as %q, by way of %q", want, r.text, escaped)
	}
	for _, m := range r.marks {
		link := strings.TrimSuffix(strings.TrimPrefix(m, "<"), ">")
		if !strings.HasPrefix(m, "<https://") || !strings.Contains(clean(text), link) || strings.Contains(link, "@") {
			t.Errorf("%q has the mark %q, by way of %q", text, m, escaped)
		}
	}
	if !utf8.ValidString(escaped) || strings.ContainsFunc(escaped, func(r rune) bool {
		return unicode.IsControl(r) && r != '\n' || unicode.Is(unicode.Bidi_Control, r)
	}) {
		t.Errorf("something harmful is left in %q", escaped)
	}
}

// TestReaderCanFail: the reading finds what escape must take away.
func TestReaderCanFail(t *testing.T) {
	for _, text := range []string{
		"**b**", "*i*", "_i_", "__u__", "~~s~~", "||h||", "`c`", "```c```", "<@123>", "<@&1>", "<#1>", "</a:1>", "<:a:1>", "<t:1>", "@everyone",
		":smile:", "[a](b)", "http://a.example", "https://a.example", "discord.gg/a", "# h", "-# s", "> q", ">>> q", "- l", "* l", "1. n", "x\n# h",
	} {
		if r := read(text); len(r.marks) == 0 {
			t.Errorf("nothing is found in %q", text)
		}
	}
}
