package lesson

import (
	"strconv"

	"weftroom/bot"
	"weftroom/calc"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
)

// skeinMargin is added to the yarn before skeins are counted (common practice, no source).
const skeinMargin = 0.1

// purchase is one yarn to buy.
type purchase struct {
	key   calc.Key // of the sentence, in its forms for one and many
	yarn  measure.Length
	skein measure.Length // what one skein holds
}

// buying turns yarn into skeins, and skeins into money, when the asker says how
// large a skein is and what it costs.
func buying(c *bot.Call, o warp.Order, r *warp.Result) (bot.List, error) {
	text := c.Args.Text("skein")
	if text == "" {
		if c.Args.Has("price") {
			return nil, missing("warp.price_needs_skein", "skein", "skein:100g")
		}
		return nil, nil
	}
	purchases, err := purchasesOf(c.Args, text, o, r)
	if err != nil {
		return nil, err
	}
	var list bot.List
	total := 0
	for _, p := range purchases {
		n, err := warp.Skeins(p.yarn, p.skein, skeinMargin)
		if err != nil {
			return nil, err
		}
		total += n
		list = append(list, c.Texts.Count(c.Units, p.key, n, p.skein, measure.Ratio(skeinMargin)))
	}
	if !c.Args.Has("price") {
		return list, nil
	}
	cost, err := warp.CostOfSkeins(total, warp.Price{Minor: c.Args.Cents("price")})
	if err != nil {
		return nil, err
	}
	return append(list, c.Texts.Count(c.Units, "warp.cost", total, money(cost.Minor))), nil
}

// purchasesOf buys warp and weft together when they are the same yarn: what is
// left of the last skein of one serves for the other.
func purchasesOf(a bot.Args, skein string, o warp.Order, r *warp.Result) ([]purchase, error) {
	warpSkein, err := skeinLength(skein, o.Warp)
	if err != nil {
		return nil, err
	}
	switch {
	case r.WeftYarn == 0:
		return []purchase{{"warp.skeins.warp", r.WarpYarn, warpSkein}}, nil
	case !a.Has("weftyarn"):
		return []purchase{{"warp.skeins.both", r.WarpYarn + r.WeftYarn, warpSkein}}, nil
	}
	weftSkein, err := skeinLength(skein, o.Weft)
	return []purchase{{"warp.skeins.warp", r.WarpYarn, warpSkein}, {"warp.skeins.weft", r.WeftYarn, weftSkein}}, err
}

// money writes hundredths as 19.00.
func money(minor int64) string {
	return strconv.FormatInt(minor/100, 10) + "." + strconv.FormatInt(100+minor%100, 10)[1:]
}

// skeinLength reads "100g" or "200 m": by mass it needs the yarn.
func skeinLength(text string, t measure.Tex) (measure.Length, error) {
	if l, err := measure.ParseLength(text, measure.Unset); err == nil && l > 0 {
		return l, nil
	}
	m, err := measure.ParseMass(text)
	if f, bad := asFault(err); bad {
		return 0, &calc.Fault{Code: f.Code, Key: bot.KeyUnreadable, Field: "skein", Args: []any{"skein", f}, Example: "skein:100g"}
	}
	switch {
	case err != nil:
		return 0, err
	case m == 0:
		return 0, &calc.Fault{Code: calc.OutOfRange, Key: "warp.skein_zero", Field: "skein", Example: "skein:100g"}
	case t == 0:
		return 0, missing("warp.skein_needs_yarn", "yarn", `yarn:"8/2 cotton"`)
	}
	return measure.Length(float64(m) / float64(t) * 1000), nil
}
