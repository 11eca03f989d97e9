package storetest

import (
	"errors"
	"strings"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

func design(name, asked string) class.Design {
	return class.Design{Name: name, Asked: asked, Picture: []byte{0, 1, 0xff, '\n'}, Made: evening}
}

// keep keeps a design and checks that it is kept.
func keep(t *testing.T, s Store, a bot.Account, d class.Design) class.Design {
	t.Helper()
	kept := must[class.Design](t)(s.KeepDesign(t.Context(), a, d))
	same(t, "kept", must[class.Design](t)(s.Design(t.Context(), a, "", d.Name)), kept)
	return kept
}

func names(t *testing.T, s Store, a bot.Account, in class.ID) (list []string) {
	t.Helper()
	for _, d := range must[[]class.Design](t)(s.Designs(t.Context(), a, in)) {
		if d.Picture != nil {
			t.Errorf("%s is listed with its picture", d.Name)
		}
		list = append(list, d.Name)
	}
	return list
}

// designs: each person has her own names, and the last that she made has none.
func designs(t *testing.T, s Store) {
	ctx := t.Context()
	_, err := s.Design(ctx, maya, "", "May")
	wantNone(t, "before she has any", err)
	put := filled[class.Design]()
	put.Name = "  Ünder  the Ash "
	first := keep(t, s, maya, put) // makes the person too
	p := must[class.Person](t)(s.FindPerson(ctx, maya))
	put.ID, put.Owner, put.Class = first.ID, p.ID, ""
	same(t, "all of it", first, put)
	for _, name := range []string{"ünder the ash", "ÜNDER THE ASH ", string(first.ID)} {
		same(t, "by "+name, must[class.Design](t)(s.Design(ctx, maya, "", name)), first)
	}
	same(t, "the same once more", keep(t, s, maya, put), first)
	put.Made = put.Made.Add(time.Hour)
	same(t, "the same later", must[class.Design](t)(s.KeepDesign(ctx, maya, put)), first)

	other := design("under the ASH", "text:ASH")
	other.Name = "ünder the ASH"
	again := keep(t, s, maya, other)
	other.ID, other.Owner = first.ID, p.ID
	same(t, "another of that name", again, other)

	one := keep(t, s, maya, design("", "text:ONE"))
	two := keep(t, s, maya, design("", "text:TWO"))
	if one.ID == two.ID {
		t.Error("what has no name and is replaced is the same design")
	}
	two.Made = two.Made.Add(time.Hour)
	same(t, "asked for once more it is the last one made", keep(t, s, maya, two), two)
	_, err = s.Design(ctx, maya, "", string(one.ID))
	wantNone(t, "the one before the last", err)
	hers := keep(t, s, ines, design("ünder the ash", "text:INES"))
	keep(t, s, maya, design("A star", `chart:"o."`))
	same(t, "hers, by name", strings.Join(names(t, s, maya, ""), "|"), "|A star|ünder the ASH")
	same(t, "of another", must[class.Design](t)(s.Design(ctx, ines, "", "Ünder the ash")), hers)
	_, err = s.Design(ctx, ines, "", string(first.ID))
	wantNone(t, "another's by its id", err)
	_, err = s.Design(ctx, bot.Account{}, "", "ünder the ash")
	wantNone(t, "nobody's", err)

	for range 2 {
		ok(t, s.DropDesign(ctx, first.ID))
	}
	_, err = s.Design(ctx, maya, "", "ünder the ash")
	wantNone(t, "dropped", err)
	same(t, "the other's stays", must[class.Design](t)(s.Design(ctx, ines, "", "ünder the ash")), hers)
}

// designsShared: who is shown what in a class.
func designsShared(t *testing.T, s Store) {
	ctx := t.Context()
	c := open(t, s, loft, person(t, s, ines, "Ines").ID)
	elsewhere := open(t, s, kitchen, person(t, s, ines, "Ines").ID)
	may := keep(t, s, ines, design("May", "text:MAY"))
	ok(t, s.ShareDesign(ctx, may.ID, c.ID))
	ok(t, s.ShareDesign(ctx, may.ID, c.ID))
	may.Class = c.ID
	same(t, "seen by another", must[class.Design](t)(s.Design(ctx, maya, c.ID, "may")), may)
	same(t, "by its id", must[class.Design](t)(s.Design(ctx, maya, c.ID, string(may.ID))), may)
	same(t, "the class's for itself", must[class.Design](t)(s.Design(ctx, bot.Account{}, c.ID, "may")), may)
	_, err := s.Design(ctx, maya, elsewhere.ID, "may")
	wantNone(t, "in another class", err)
	_, err = s.Design(ctx, maya, "", "may")
	wantNone(t, "in no class", err)

	own := keep(t, s, maya, design("MAY", "text:MINE"))
	same(t, "her own goes first", must[class.Design](t)(s.Design(ctx, maya, c.ID, "may")), own)
	same(t, "the class's for itself", must[class.Design](t)(s.Design(ctx, bot.Account{}, c.ID, "may")), may)
	same(t, "both are listed", len(names(t, s, maya, c.ID)), 2)
	if err := s.ShareDesign(ctx, own.ID, c.ID); !errors.Is(err, class.ErrTaken) {
		t.Errorf("a second of that name shared: %v", err)
	}
	ok(t, s.ShareDesign(ctx, own.ID, elsewhere.ID))
	own = must[class.Design](t)(s.Design(ctx, maya, "", "may"))
	same(t, "shared elsewhere", own.Class, elsewhere.ID)

	again := keep(t, s, ines, design("May", "text:MAI"))
	same(t, "made anew it stays shared", again.Class, c.ID)
	same(t, "and the same", again.ID, may.ID)
	ok(t, s.ShareDesign(ctx, may.ID, ""))
	_, err = s.Design(ctx, bot.Account{}, c.ID, "may")
	wantNone(t, "shared no more", err)
	ok(t, s.ShareDesign(ctx, own.ID, c.ID))
	wantNone(t, "what is not kept", s.ShareDesign(ctx, "nobody22", c.ID))
	wantNone(t, "with no class", s.ShareDesign(ctx, own.ID, "nobody22"))
}

// designsNamed: what has no name gets one, and is the same design.
func designsNamed(t *testing.T, s Store) {
	ctx := t.Context()
	c := open(t, s, loft, person(t, s, ines, "Ines").ID)
	d := keep(t, s, maya, design("", "text:A"))
	d.Name = "Ash"
	same(t, "named", must[class.Design](t)(s.NameDesign(ctx, d.ID, "Ash")), d)
	same(t, "kept so", must[class.Design](t)(s.Design(ctx, maya, "", "ash")), d)
	_, err := s.Design(ctx, maya, "", "")
	wantNone(t, "without a name", err)

	ok(t, s.ShareDesign(ctx, d.ID, c.ID))
	next := keep(t, s, maya, design("", "text:B"))
	next.Name, next.Class = "ASH", c.ID
	same(t, "in place of the other", must[class.Design](t)(s.NameDesign(ctx, next.ID, "ASH")), next)
	same(t, "for the class too", must[class.Design](t)(s.Design(ctx, ines, c.ID, "ash")), next)
	_, err = s.Design(ctx, maya, "", string(d.ID))
	wantNone(t, "the other", err)
	_, err = s.NameDesign(ctx, "nobody22", "ash")
	wantNone(t, "what is not kept", err)
}

// designsMoved: all go with the account, by names of their own, and come back.
func designsMoved(t *testing.T, s Store) {
	ctx := t.Context()
	to, from := person(t, s, maya, "Maya"), person(t, s, maya2, "maya_knits")
	c := open(t, s, loft, person(t, s, ines, "Ines").ID)
	keep(t, s, maya, design("May", "text:A"))
	keep(t, s, maya, design("", "text:B"))
	shared := keep(t, s, maya2, design("MAY", "text:C"))
	star := keep(t, s, maya2, design("Star", "text:D"))
	last := keep(t, s, maya2, design("", "text:E"))
	keep(t, s, maya, design("Sun", "text:F"))
	sun := keep(t, s, maya2, design("SUN", "text:G"))
	sun2 := keep(t, s, maya2, design("SUN 2", "text:H"))
	ok(t, s.ShareDesign(ctx, shared.ID, c.ID))
	ok(t, s.ShareDesign(ctx, sun2.ID, c.ID))
	shared.Class, sun2.Class = c.ID, c.ID

	ok(t, s.MoveAccount(ctx, maya2, to.ID))
	same(t, "all names", strings.Join(names(t, s, maya, ""), "|"), "|May|Star|Sun|SUN 2|SUN 3")
	same(t, "her own that has none", must[class.Design](t)(s.Design(ctx, maya2, "", "")).Asked, "text:B")
	classes := shared
	classes.Owner = ""
	same(t, "shared on, by the name that sessions know", must[class.Design](t)(s.Design(ctx, bot.Account{}, c.ID, "may")), classes)
	ok(t, s.MoveAccount(ctx, maya2, from.ID))
	for _, d := range []class.Design{shared, star, last, sun, sun2} {
		same(t, "hers again", must[class.Design](t)(s.Design(ctx, maya2, "", d.Name)), d)
	}
	same(t, "and the other's", strings.Join(names(t, s, maya, ""), "|"), "|May|Sun")

	ok(t, s.MoveAccount(ctx, maya2, to.ID))
	ok(t, s.ShareDesign(ctx, sun.ID, c.ID))
	ok(t, s.DropDesign(ctx, star.ID))
	ok(t, s.MoveAccount(ctx, maya2, from.ID))
	_, err := s.Design(ctx, maya2, "", "star")
	wantNone(t, "dropped meanwhile", err)
	sun.Name, sun.Class = "SUN 3", c.ID
	same(t, "shared meanwhile by its other name", must[class.Design](t)(s.Design(ctx, maya2, c.ID, "sun 3")), sun)
}

// designsForgotten: her own go, and what a class has of her stays without her.
func designsForgotten(t *testing.T, s Store) {
	ctx := t.Context()
	p := person(t, s, maya, "Maya")
	c := open(t, s, loft, person(t, s, ines, "Ines").ID)
	own := keep(t, s, maya, design("Own", "text:OWN"))
	shared := keep(t, s, maya, design("May", "text:MAY"))
	ok(t, s.ShareDesign(ctx, shared.ID, c.ID))
	got := must[class.Traces](t)(s.Traces(ctx, maya)).Designs
	shared.Class = c.ID
	same(t, "what is kept of her", got, []class.Design{shared, own})
	ok(t, s.DeletePerson(ctx, p.ID))
	_, err := s.Design(ctx, maya, c.ID, "own")
	wantNone(t, "her own", err)
	shared.Owner = ""
	same(t, "the class's", must[class.Design](t)(s.Design(ctx, ines, c.ID, "may")), shared)
	if left := known(Everything(t, s), string(p.ID)); len(left) > 0 {
		t.Errorf("left of her:\n%s", strings.Join(left, ""))
	}
	ok(t, s.ShareDesign(ctx, shared.ID, ""))
	_, err = s.Design(ctx, ines, c.ID, string(shared.ID))
	wantNone(t, "taken back from the class", err)
	if left := known(Everything(t, s), string(shared.ID)); len(left) > 0 {
		t.Errorf("kept for nobody:\n%s", strings.Join(left, ""))
	}
	keep(t, s, ines, design("May", "text:OTHER"))
	same(t, "another makes one of that name", must[class.Design](t)(s.Design(ctx, ines, c.ID, "may")).Asked, "text:OTHER")
}
