package discordtest_test

import (
	"fmt"
	"strings"
	"testing"
)

// TestLimits is the limits of Discord's documentation ("Message Resource",
// "Component Reference", "Application Commands"): what is just allowed, and one
// more.
func TestLimits(t *testing.T) {
	w := newWorld(t)
	long := func(n int) string { return strings.Repeat("x", n) }
	list := func(n int, each func(i int) string) string {
		var out []string
		for i := range n {
			out = append(out, each(i))
		}
		return "[" + strings.Join(out, ",") + "]"
	}
	button := func(id, label string) string {
		return fmt.Sprintf(`{"type":2,"style":1,"label":%q,"custom_id":%q}`, label, id)
	}
	rows := func(parts ...string) string {
		return `{"components":` + list(len(parts), func(i int) string { return `{"type":1,"components":` + parts[i] + `}` }) + `}`
	}
	buttons := func(n int) string {
		return list(n, func(i int) string { return button(fmt.Sprint("b", i), "x") })
	}
	manyRows := func(n int) string {
		var all []string
		for i := range n {
			all = append(all, "["+button(fmt.Sprint("r", i), "x")+"]")
		}
		return rows(all...)
	}
	sel := func(n int) string {
		return rows(`[{"type":3,"custom_id":"s","options":` + list(n, func(i int) string { return fmt.Sprintf(`{"label":"x","value":"%d"}`, i) }) + `}]`)
	}
	embeds := func(n, each int) string {
		return `{"embeds":` + list(n, func(int) string { return `{"description":"` + long(each) + `"}` }) + `}`
	}
	field := func(name, value int) string {
		return `{"embeds":[{"fields":[{"name":"` + long(name) + `","value":"` + long(value) + `"}]}]}`
	}
	text := func(n int) string { return `{"content":"` + long(n) + `"}` }
	for _, c := range []struct{ name, good, bad, where string }{
		{"content", text(2000), text(2001), "content"},
		{"content, in UTF-16", `{"content":"` + strings.Repeat("🧶", 1000) + `"}`, `{"content":"` + strings.Repeat("🧶", 1001) + `"}`, "content"},
		{"a description", embeds(1, 4096), embeds(1, 4097), "embeds.0.description"},
		{"embeds in all", embeds(3, 2000), embeds(3, 2001), "embeds"},
		{"embeds", embeds(10, 1), embeds(11, 1), "embeds"},
		{"a field's value", field(1, 1024), field(1, 1025), "value"},
		{"a field's name", field(256, 1), field(0, 1), "name"},
		{"buttons of a row", rows(buttons(5)), rows(buttons(6)), "components.0.components"},
		{"rows", manyRows(5), manyRows(6), "components"},
		{"custom ids that differ", rows("[" + button("a", "x") + "," + button("b", "x") + "]"), rows("[" + button("a", "x") + "," + button("a", "x") + "]"), "custom_id"},
		{"a custom id", rows("[" + button(long(100), "x") + "]"), rows("[" + button(long(101), "x") + "]"), "custom_id"},
		{"a label", rows("[" + button("a", long(80)) + "]"), rows("[" + button("a", long(81)) + "]"), "label"},
		{"options of a select", sel(25), sel(26), "options"},
		{"something to say", text(1), `{"content":"  "}`, ""},
	} {
		if r := w.do("POST", "/channels/"+w.room.ID+"/messages", c.good); r.status != 200 {
			t.Errorf("%s: the good one: %+v", c.name, r)
		}
		r := w.do("POST", "/channels/"+w.room.ID+"/messages", c.bad)
		if r.status != 400 || !strings.HasSuffix(r.where, c.where) {
			t.Errorf("%s: the bad one: %d at %q: %v", c.name, r.status, r.where, r.body)
		}
	}
}

func TestLimitsOfCommands(t *testing.T) {
	w := newWorld(t)
	put := func(body string) reply { return w.do("PUT", "/applications/"+w.s.AppID+"/commands", body) }
	many := func(n int) string {
		var out []string
		for i := range n {
			out = append(out, fmt.Sprintf(`{"name":"c%d","description":"d"}`, i))
		}
		return "[" + strings.Join(out, ",") + "]"
	}
	with := func(options string) string { return `[{"name":"a","description":"d","options":[` + options + `]}]` }
	choices := func(n int) string {
		var out []string
		for i := range n {
			out = append(out, fmt.Sprintf(`{"name":"n%d","value":"%d"}`, i, i))
		}
		return with(`{"type":3,"name":"o","description":"d","choices":[` + strings.Join(out, ",") + `]}`)
	}
	// size fills one command with choices up to some number of characters.
	size := func(n int) string {
		var out []string
		left := n - 1 - 1 // the command's name and description
		for i := 0; left > 0; i++ {
			name := fmt.Sprintf("o%02d", i)
			left -= len(name) + 1
			var ch []string
			for j := 0; j < 25 && left > 0; j++ {
				value := fmt.Sprintf("%02d", j)
				k := min(left-len(value), 100)
				if k < 2 {
					k = 2
				}
				ch = append(ch, fmt.Sprintf(`{"name":"%s%02d","value":"%s"}`, strings.Repeat("x", k-2), j, value))
				left -= k + len(value)
			}
			out = append(out, fmt.Sprintf(`{"type":3,"name":"%s","description":"d","choices":[%s]}`, name, strings.Join(ch, ",")))
		}
		return with(strings.Join(out, ","))
	}
	for _, c := range []struct{ name, good, bad string }{
		{"small letters", `[{"name":"row","description":"d"}]`, `[{"name":"Row","description":"d"}]`},
		{"no spaces", `[{"name":"row-a_b","description":"d"}]`, `[{"name":"row a","description":"d"}]`},
		{"no dots", `[{"name":"größe","description":"d"}]`, `[{"name":"row.a","description":"d"}]`},
		{"a description", `[{"name":"a","description":"` + strings.Repeat("x", 100) + `"}]`, `[{"name":"a","description":"` + strings.Repeat("x", 101) + `"}]`},
		{"100 commands", many(100), many(101)},
		{"names that differ", many(2), `[{"name":"a","description":"d"},{"name":"a","description":"d"}]`},
		{"25 choices", choices(25), choices(26)},
		{"8,000 characters", size(8000), size(8001)},
		{"choices or completion", with(`{"type":3,"name":"o","description":"d","autocomplete":true}`), with(`{"type":3,"name":"o","description":"d","autocomplete":true,"choices":[{"name":"a","value":"a"}]}`)},
		{"what is required comes first", with(`{"type":3,"name":"o","description":"d","required":true},{"type":3,"name":"p","description":"d"}`), with(`{"type":3,"name":"o","description":"d"},{"type":3,"name":"p","description":"d","required":true}`)},
		{"bounds of numbers", with(`{"type":4,"name":"o","description":"d","max_value":3}`), with(`{"type":3,"name":"o","description":"d","max_value":3}`)},
		{"permissions as text", `[{"name":"a","description":"d","default_member_permissions":"32"}]`, `[{"name":"a","description":"d","default_member_permissions":32}]`},
		{"contexts that there are", `[{"name":"a","description":"d","contexts":[0,1,2]}]`, `[{"name":"a","description":"d","contexts":[3]}]`},
	} {
		if r := put(c.good); r.status != 200 {
			t.Errorf("%s: the good one: %+v", c.name, r)
		}
		if r := put(c.bad); r.status != 400 {
			t.Errorf("%s: the bad one: %+v", c.name, r)
		}
	}
	if all, times := w.s.Registered(); len(all) != 1 || times < 10 {
		t.Errorf("registered %d commands, %d times", len(all), times)
	}
}
