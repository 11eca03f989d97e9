package matrix

import (
	"regexp"
	"slices"
	"strings"
	"sync"

	"golang.org/x/net/html"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
)

// fence begins and ends a block of text, as people write one.
const fence = "```"

// withBlock puts a block of text that stands in a command line, which may have
// any words, lines and quotes in it, into the form that the reader of lines takes
// for one value: that of the command's long text.
func (p parser) withBlock(line string, m said) string {
	before, block, ok := cutBlock(line, m.html)
	if !ok {
		return line
	}
	name := ""
	if c := find(p.commands, strings.Fields(strings.ToLower(before))); c != nil {
		name = longText(c)
	}
	switch last := lastWord(before); {
	case name == "":
		return strings.TrimSpace(before + " " + block)
	case last == name+":" || last == name+"=" || last == name:
		before = strings.TrimSpace(before[:len(before)-len(last)])
	}
	return before + " " + bot.Written(name, block)
}

// cutBlock finds the block at the end of a line: between fences or, where a
// program has taken those away, as the HTML beside it has it.
func cutBlock(line, formatted string) (before, block string, ok bool) {
	if before, rest, found := strings.Cut(line, fence); found {
		block, _, _ = strings.Cut(rest, fence)
		if word, more, lines := strings.Cut(block, "\n"); lines && language(strings.TrimSpace(word)) {
			block = more
		}
		block = strings.TrimSpace(block)
		return strings.TrimSpace(before), block, block != ""
	}
	block = strings.TrimSpace(preformatted(formatted))
	before, ok = strings.CutSuffix(line, block)
	return strings.TrimSpace(before), block, ok && block != ""
}

// languageForm are the names of languages that programs set behind a fence.
var languageForm = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[A-Za-z][A-Za-z0-9+#_-]*$`) })

// language tells a language's name from the first line of a text that begins
// right behind the fence: a row of signs is none, such as "..o" or "ooo".
func language(word string) bool {
	return languageForm().MatchString(word) && strings.Trim(word, word[:1]) != ""
}

func lastWord(s string) string {
	words := strings.Fields(s)
	if len(words) == 0 {
		return ""
	}
	return words[len(words)-1]
}

// longText is the name of a command's argument for text of several lines, "" for
// none.
func longText(c *bot.Command) string {
	i := slices.IndexFunc(c.Params, func(p bot.Param) bool { return p.Kind == bot.LongText })
	if i < 0 {
		return ""
	}
	return c.Params[i].Name
}

// preformatted is the text of the first block of code in HTML.
func preformatted(formatted string) string {
	if !strings.Contains(formatted, "<pre") {
		return ""
	}
	z := html.NewTokenizer(strings.NewReader(formatted))
	var b strings.Builder
	in := false
	for {
		switch z.Next() {
		case html.ErrorToken:
			return b.String()
		case html.StartTagToken:
			if name, _ := z.TagName(); string(name) == "pre" {
				in = true
			}
		case html.EndTagToken:
			if name, _ := z.TagName(); string(name) == "pre" {
				return b.String()
			}
		case html.TextToken:
			if in {
				b.Write(z.Text())
			}
		}
	}
}

// pillFor is the text of a link to a user with which HTML begins, "" when it
// does not.
func pillFor(formatted string, user id.UserID) string {
	z := html.NewTokenizer(strings.NewReader(formatted))
	for {
		switch z.Next() {
		case html.TextToken:
			if strings.TrimSpace(string(z.Raw())) != "" {
				return ""
			}
		case html.StartTagToken:
			name, more := z.TagName()
			switch string(name) {
			case "p", "div", "span":
				continue
			case "a":
				if !more || !linksTo(z, user) || z.Next() != html.TextToken {
					return ""
				}
				return strings.TrimSpace(string(z.Text()))
			}
			return ""
		default:
			return ""
		}
	}
}

// linksTo tells whether the tag at which z is links to a user.
func linksTo(z *html.Tokenizer, user id.UserID) bool {
	for more := true; more; {
		var key, value []byte
		key, value, more = z.TagAttr()
		if string(key) != "href" {
			continue
		}
		uri, err := id.ParseMatrixURIOrMatrixToURL(string(value))
		return err == nil && uri != nil && uri.UserID() == user
	}
	return false
}
