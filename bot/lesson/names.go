package lesson

import (
	"context"
	"slices"
	"strings"
	"unicode"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

// maxName is the most letters of a name that are shown.
const maxName = 60

// Sentences about who is meant.
const (
	keyNoSuchMember   calc.Key = "members.none" // what was written, the class's name
	keyMemberMeant    calc.Key = "members.near" // what was written, the nearest names
	keySeveralMembers calc.Key = "members.many" // what was written, the accounts that can be written instead
)

// cleanLine makes a text that a person chose fit to be shown on one line: no
// control characters, none that turn the direction of writing or cannot be seen,
// no more than most letters.
func cleanLine(text string, most int) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Cf, r) && r != '\u200d', unicode.Is(unicode.Co, r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, ""))
	text = strings.Join(strings.Fields(text), " ")
	if letters := []rune(text); len(letters) > most {
		text = strings.TrimSpace(string(letters[:most-1])) + "…"
	}
	return text
}

// nameOf is what a person is called in a class: as she likes it, or in a class
// of minors no more than the first word of that.
func nameOf(c *bot.Call, k class.Class, p class.Person) string {
	if name := shownName(k, p); name != "" {
		return name
	}
	return c.Say("members.nameless")
}

// shownName is nameOf, "" for someone who has no name.
func shownName(k class.Class, p class.Person) string {
	name := cleanLine(p.Name, maxName)
	if first, _, more := strings.Cut(name, " "); k.Minors && more {
		return first
	}
	return name
}

// memberNamed finds a member of a class by what someone wrote: her name as it
// is shown or as she gave it, or her account as the chat writes it. field is
// the argument that was read.
func (d *Desk) memberNamed(ctx context.Context, c *bot.Call, k class.Class, field, text string) (class.Member, class.Person, error) {
	persons, err := d.Store.PersonsOf(ctx, k.ID)
	if err != nil {
		return class.Member{}, class.Person{}, err
	}
	members, err := d.Store.Members(ctx, k.ID)
	if err != nil {
		return class.Member{}, class.Person{}, err
	}
	var found []class.Member
	var names, accounts []string
	wanted := squeezed(text)
	for _, m := range members {
		p := persons[m.Person]
		mine, err := d.Store.Accounts(ctx, m.Person)
		if err != nil {
			return class.Member{}, class.Person{}, err
		}
		named := wanted != "" && (squeezed(nameOf(c, k, p)) == wanted || squeezed(p.Name) == wanted)
		account := slices.ContainsFunc(mine, func(a bot.Account) bool { return isAccount(text, a) })
		if account {
			return m, p, nil
		}
		names = append(names, nameOf(c, k, p))
		if named {
			found = append(found, m)
			for _, a := range mine[:min(len(mine), 1)] {
				accounts = append(accounts, a.User)
			}
		}
	}
	shown := cleanLine(text, maxName)
	switch near := bot.Nearest(shown, names, 3); {
	case len(found) == 1:
		return found[0], persons[found[0].Person], nil
	case len(found) > 1 && len(accounts) > 0:
		return class.Member{}, class.Person{}, &calc.Fault{Code: calc.Conflict, Key: keySeveralMembers, Field: field, Args: []any{shown, accounts}, Example: bot.Written(field, accounts[0])}
	case len(near) > 0:
		return class.Member{}, class.Person{}, &calc.Fault{Code: calc.BadValue, Key: keyMemberMeant, Field: field, Args: []any{shown, near}, Example: bot.Written(field, near[0])}
	}
	return class.Member{}, class.Person{}, &calc.Fault{Code: calc.BadValue, Key: keyNoSuchMember, Field: field, Args: []any{shown, k.Name}}
}

// squeezed is a name in lower case with single blanks, as names are compared.
func squeezed(name string) string { return strings.ToLower(cleanLine(name, 4*maxName)) }

// isAccount tells whether a text is an account's id, bare or as chats write the
// mention of someone: @id, <@id>, <@!id>.
func isAccount(text string, a bot.Account) bool {
	text = strings.TrimSpace(text)
	if inner, ok := strings.CutPrefix(text, "<@"); ok {
		text = strings.TrimPrefix(strings.TrimSuffix(inner, ">"), "!")
	}
	return a.User != "" && (text == a.User || text == "@"+a.User)
}
