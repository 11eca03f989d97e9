package main

import (
	"fmt"
	"strings"

	"pgregory.net/rapid"
)

// anyLine draws a command line that must be answered, from the bounds as the
// help states them.
func anyLine() *rapid.Generator[string] {
	return rapid.OneOf(rowLine(), fitLine(), settLine(), warpLine(), yardageLine())
}

// parts puts arguments together, each there or not.
type parts struct {
	t    *rapid.T
	line []string
}

func (p *parts) always(name, value string) { p.line = append(p.line, name+":"+value) }

func (p *parts) maybe(name string, values ...string) {
	if rapid.Bool().Draw(p.t, "with "+name) {
		p.always(name, rapid.SampledFrom(values).Draw(p.t, name))
	}
}

func (p *parts) String() string { return strings.Join(p.line, " ") }

var (
	lengths = []string{"1cm", "38,5cm", "15in", `15 1/2"`, "1yd", "1.2m", "2 ft", "7½ in"}
	setts   = []string{"5", "7.5", "10", "12.5", "40/10cm", "8/cm", "20"}
	yarns   = []string{`"8/2 cotton"`, `"16/2 linen"`, `"Nm 16/2"`, `"230 m/100g"`, `"40/2 spun silk"`, `"2/16 worsted"`, `"30 tex x 2"`}
)

func quotedLength(t *rapid.T, name string) string {
	text := rapid.SampledFrom(lengths).Draw(t, name)
	if strings.Contains(text, " ") && !strings.Contains(text, `"`) {
		return `"` + text + `"`
	}
	return text
}

func rowLine() *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		ends := rapid.IntRange(8, 400).Draw(t, "ends")
		p := parts{t: t, line: []string{"row", fmt.Sprintf("ends:%d", ends)}}
		raised := rapid.IntRange(2, min(12, ends/4)).Draw(t, "raised")
		p.always("raised", fmt.Sprint(raised))
		if edge := (ends/2 - 2*raised) / 2; edge > 0 {
			p.always("edge", fmt.Sprint(rapid.IntRange(0, edge).Draw(t, "edge")))
		}
		p.maybe("passes", "3", "5", "7", "99")
		p.maybe("way", "one", "two", "Two")
		p.maybe("from", "left", "right")
		p.maybe("rows", "1", "2", "3", "20")
		p.maybe("leftover", "far", "both")
		p.maybe("repeat", "straight", "halfdrop")
		p.maybe("strands", "1", "2", "12")
		p.maybe("rightmost", "hole", "slot", "shaft1", "shaft2")
		p.maybe("sett", setts...)
		p.maybe("ppi", setts...)
		return p.String()
	})
}

func fitLine() *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		ends := rapid.IntRange(8, 4000).Draw(t, "ends")
		p := parts{t: t, line: []string{"fit", fmt.Sprintf("ends:%d", ends)}}
		if rapid.Bool().Draw(t, "with raised") {
			p.always("raised", fmt.Sprint(rapid.IntRange(2, ends/2).Draw(t, "raised")))
		}
		return p.String()
	})
}

func settLine() *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		p := parts{t: t, line: []string{"sett"}}
		if rapid.Bool().Draw(t, "by wraps") {
			p.always("wpi", fmt.Sprint(rapid.IntRange(8, 80).Draw(t, "wpi")))
		} else {
			p.always("yarn", rapid.SampledFrom(yarns).Draw(t, "yarn"))
		}
		p.maybe("weave", "plain", "twill", "lace")
		p.maybe("heddle", setts...)
		return p.String()
	})
}

func warpLine() *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		p := parts{t: t, line: []string{"warp"}}
		p.always("wide", quotedLength(t, "wide"))
		p.always("long", quotedLength(t, "long"))
		p.always("heddle", rapid.SampledFrom(setts).Draw(t, "heddle"))
		p.maybe("sett", setts...)
		p.maybe("items", "1", "3", "20")
		p.maybe("fringe", "0", "6in", "12cm")
		p.maybe("hem", "0", "1in", "3 cm")
		p.maybe("header", "5cm")
		p.maybe("sample", "10in")
		p.maybe("waste", "0", "27in", "80cm")
		p.maybe("takeup", "0", "8%", "0.12")
		p.maybe("shrink", "0%", "15 %", "60%")
		p.maybe("drawin", "0", "39%")
		p.maybe("ppi", setts...)
		p.maybe("yarn", yarns...)
		p.maybe("weftyarn", yarns...)
		p.maybe("strands", "1", "2", "12")
		return p.String()
	})
}

func yardageLine() *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		p := parts{t: t, line: []string{"yardage"}}
		if rapid.Bool().Draw(t, "by width") {
			p.always("width", rapid.SampledFrom([]string{"38cm", "15in", "1.2m"}).Draw(t, "width"))
			p.always("sett", rapid.SampledFrom(setts).Draw(t, "sett"))
		} else {
			p.always("ends", fmt.Sprint(rapid.IntRange(2, 20000).Draw(t, "ends")))
		}
		p.always("warp", rapid.SampledFrom([]string{"4yd", "3,5m", "1000m", "1cm"}).Draw(t, "warp"))
		if strings.Contains(p.String(), "width:") && rapid.Bool().Draw(t, "with weft") {
			p.always("ppi", rapid.SampledFrom(setts).Draw(t, "ppi"))
			p.always("cloth", rapid.SampledFrom([]string{"36in", "2m"}).Draw(t, "cloth"))
			p.maybe("strands", "1", "2")
		}
		p.maybe("yarn", yarns...)
		p.maybe("weftyarn", yarns...)
		return p.String()
	})
}
