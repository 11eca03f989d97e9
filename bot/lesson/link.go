package lesson

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"errors"
	"io"
	"strings"
	"time"
	"unicode"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

// A link makes two accounts one person. The first account is told a code, in a
// direct message; the second gives it, in a direct message too; then each is
// shown both names and says yes. The code is good for linkLasts and for one
// account. Its first letters find the offer and its others prove that it was
// told: after mostTries wrong ones the offer is void, and an account that gave
// as many wrong codes must wait, whosever offers they were meant for.
const (
	linkLasts   = 10 * time.Minute
	mostTries   = 5
	linkLetters = "ABCDEFGHJKMNPQRSTVWXYZ23456789" // nothing that is read as another
	linkSize    = 8
)

// Sentences of link, beside those of its answers.
const (
	keyLinkRoom    calc.Key = "link.room"      // no arguments: not where others read
	keyLinkForm    calc.Key = "link.form"      // what was written, how many letters a code has
	keyLinkUnknown calc.Key = "link.unknown"   // how many minutes codes are good for
	keyLinkWait    calc.Key = "link.wait"      // how many minutes to wait
	keyLinkOwn     calc.Key = "link.own"       // no arguments: her own code
	keyLinkSame    calc.Key = "link.same"      // no arguments: both accounts are hers already
	keyLinkNothing calc.Key = "link.nothing"   // no arguments: nothing waits for a yes
	keyLinkAlone   calc.Key = "link.not_given" // no arguments: nobody has given her code yet
	keyLinkNoUndo  calc.Key = "link.no_undo"   // for how many days a link can be undone
)

// linkData is how far a link is, for scripts.
type linkData struct {
	State   string     `json:"state"` // code, asked, waiting, linked, ended or undone
	Code    *string    `json:"code"`
	Expires *time.Time `json:"expires"`
	Here    *string    `json:"here"`  // the asker's side: name and account
	There   *string    `json:"there"` // the other's
}

func linkCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "link", Changes: true,
		Params:   []bot.Param{{Name: "code", Kind: bot.Words, First: true, Max: "40"}},
		Examples: []string{"link", "link code:K7MQ-2XR4", "link yes", "link no", "link undo"},
		Run:      d.link,
	}
}

// unlinkCommand is what people look for who want to undo a link.
func unlinkCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "unlink", Changes: true,
		Examples: []string{"unlink"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			if !c.Request.Direct {
				return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyLinkRoom, Example: "unlink"}
			}
			return d.undoLink(ctx, c)
		},
	}
}

func (d *Desk) link(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	given := c.Args.Text("code")
	if !c.Request.Direct {
		return d.linkInRoom(ctx, c, given)
	}
	switch squeezed(given) {
	case "":
		return d.linkState(ctx, c)
	case "yes":
		return d.linkYes(ctx, c)
	case "no":
		return d.linkNo(ctx, c)
	case "undo":
		return d.undoLink(ctx, c)
	}
	return d.giveCode(ctx, c, linkCode(given))
}

// linkCode is a code as it is kept, whatever its capitals and whatever stands
// between its letters.
func linkCode(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || unicode.Is(unicode.Pd, r) {
			return -1
		}
		return unicode.ToUpper(r)
	}, text)
}

// shownCode is a code as people copy it.
func shownCode(code string) string { return code[:class.LinkName] + "-" + code[class.LinkName:] }

func isLinkCode(code string) bool {
	return len(code) == linkSize && strings.Trim(code, linkLetters) == ""
}

// linkInRoom refuses. A code that was shown to a room is void.
func (d *Desk) linkInRoom(ctx context.Context, c *bot.Call, given string) (bot.Reply, error) {
	f := &calc.Fault{Code: calc.Conflict, Key: keyLinkRoom, Example: "link"}
	if code := linkCode(given); isLinkCode(code) {
		if err := d.Store.DeleteLink(ctx, code); err != nil {
			return bot.Reply{}, err
		}
	}
	return refusal(c, f), nil
}

// named is the person behind the asker, with what her chat calls her when she
// has not said what she likes to be called: the other side must see a name.
func (d *Desk) named(ctx context.Context, c *bot.Call) (class.Person, error) {
	p, err := d.herself(ctx, c)
	if err != nil || p.Name != "" {
		return p, err
	}
	if p.Name = chosenName(c.Request.Name); p.Name == "" {
		return p, nil
	}
	return p, d.Store.PutPerson(ctx, p)
}

// offerOf is the offer that an account has made or has given the code of, if it
// is still good; the zero Link when there is none. One that both sides know
// comes first.
func (d *Desk) offerOf(ctx context.Context, a bot.Account) (class.Link, error) {
	var best class.Link
	for _, find := range []func(context.Context, bot.Account) (class.Link, error){d.Store.LinkTo, d.Store.LinkFrom} {
		l, err := find(ctx, a)
		if errors.Is(err, class.ErrNone) || err == nil && !d.good(l) {
			continue
		}
		if err != nil {
			return class.Link{}, err
		}
		if best.Code == "" || bothKnown(l) && l.Expires.After(best.Expires) {
			best = l
		}
	}
	return best, nil
}

func (d *Desk) good(l class.Link) bool { return d.Now().Before(l.Expires) && l.Tries < mostTries }

func bothKnown(l class.Link) bool { return l.To != bot.Account{} }

// linkState says how far the asker's link is, and makes an offer when there is
// none.
func (d *Desk) linkState(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	l, err := d.offerOf(ctx, c.Request.From)
	switch {
	case err != nil:
		return bot.Reply{}, err
	case l.Code == "":
		return d.makeOffer(ctx, c)
	case !bothKnown(l):
		return d.codeReply(c, l), nil
	case saidYes(l, c.Request.From):
		return d.linkReply(ctx, c, l, "waiting")
	}
	return d.showBoth(ctx, c, l)
}

func saidYes(l class.Link, a bot.Account) bool {
	return l.From == a && l.FromYes || l.To == a && l.ToYes
}

// makeOffer tells the asker a code, in place of any older one.
func (d *Desk) makeOffer(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	if _, err := d.named(ctx, c); err != nil {
		return bot.Reply{}, err
	}
	old, err := d.Store.LinkFrom(ctx, c.Request.From)
	if err == nil {
		err = d.Store.DeleteLink(ctx, old.Code)
	}
	if err != nil && !errors.Is(err, class.ErrNone) {
		return bot.Reply{}, err
	}
	code, err := d.freshCode(ctx)
	if err != nil {
		return bot.Reply{}, err
	}
	l := class.Link{Code: code, From: c.Request.From, Expires: d.Now().Add(linkLasts)}
	return d.codeReply(c, l), d.Store.PutLink(ctx, l)
}

// freshCode is a code whose first letters are those of no other.
func (d *Desk) freshCode(ctx context.Context) (string, error) {
	random := d.Random
	if random == nil {
		random = rand.Reader
	}
	for {
		code, err := randomCode(random)
		if err != nil {
			return "", err
		}
		_, err = d.Store.LinkNamed(ctx, code[:class.LinkName])
		if errors.Is(err, class.ErrNone) {
			return code, nil
		}
		if err != nil {
			return "", err
		}
	}
}

// randomCode draws each letter with the same chance: what a byte cannot be
// shared out evenly by is drawn again.
func randomCode(random io.Reader) (string, error) {
	const fair = 256 - 256%len(linkLetters)
	code, draw := make([]byte, 0, linkSize), make([]byte, 1)
	for len(code) < linkSize {
		if _, err := io.ReadFull(random, draw); err != nil {
			return "", err
		}
		if int(draw[0]) < fair {
			code = append(code, linkLetters[int(draw[0])%len(linkLetters)])
		}
	}
	return string(code), nil
}

func (d *Desk) codeReply(c *bot.Call, l class.Link) bot.Reply {
	code := shownCode(l.Code)
	minutes := max(1, int(l.Expires.Sub(d.Now()).Minutes()))
	return bot.Reply{
		Title: c.Say("link.code", code),
		Body: []bot.Block{
			bot.Paragraph(c.Texts.Count(c.Units, "link.code_how", minutes)),
			bot.List{"link code:" + code},
			bot.Paragraph(c.Say("link.code_note")),
		},
		Data: linkData{State: "code", Code: &code, Expires: instantOrNull(l.Expires)},
	}
}

// giveCode takes a code from the second account.
func (d *Desk) giveCode(ctx context.Context, c *bot.Call, code string) (bot.Reply, error) {
	now := d.Now()
	wrong, err := d.Store.Guesses(ctx, c.Request.From, now.Add(-linkLasts))
	switch {
	case err != nil:
		return bot.Reply{}, err
	case wrong >= mostTries:
		return bot.Reply{}, &calc.Fault{Code: bot.Busy, Key: keyLinkWait, Args: []any{int(linkLasts.Minutes())}}
	case !isLinkCode(code):
		return bot.Reply{}, &calc.Fault{Code: calc.BadValue, Key: keyLinkForm, Field: "code", Args: []any{cleanLine(code, 40), linkSize}, Example: "link code:K7MQ-2XR4"}
	}
	l, err := d.Store.LinkNamed(ctx, code[:class.LinkName])
	if err != nil && !errors.Is(err, class.ErrNone) {
		return bot.Reply{}, err
	}
	right := err == nil && subtle.ConstantTimeCompare([]byte(code), []byte(l.Code)) == 1
	if right && l.From == c.Request.From {
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyLinkOwn, Example: "link code:" + shownCode(code)}
	}
	if right && d.good(l) && l.To == c.Request.From {
		return d.showBoth(ctx, c, l)
	}
	if !right || !d.good(l) || bothKnown(l) {
		return d.wrongCode(ctx, c, l, right)
	}
	p, err := d.named(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	from, err := d.known(ctx, l.From)
	if err != nil {
		return bot.Reply{}, err
	}
	if from.ID == p.ID {
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyLinkSame}
	}
	l.To, l.Expires = c.Request.From, now.Add(linkLasts)
	if err := d.Store.PutLink(ctx, l); err != nil {
		return bot.Reply{}, err
	}
	return d.showBoth(ctx, c, l)
}

// wrongCode counts a wrong code, and refuses all in the same words, so that
// they give nothing away.
func (d *Desk) wrongCode(ctx context.Context, c *bot.Call, l class.Link, right bool) (bot.Reply, error) {
	err := d.Store.AddGuess(ctx, c.Request.From, d.Now())
	if l.Code != "" && !right {
		l.Tries++
		err = errors.Join(err, d.Store.PutLink(ctx, l))
	}
	return refusal(c, &calc.Fault{Code: calc.BadValue, Key: keyLinkUnknown, Args: []any{int(linkLasts.Minutes())}, Example: "link"}), err
}
