package lesson

import (
	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/lace"
)

// sheds are the two sheds as this weaver knows them: by what she does to open
// them, not by number.
type sheds struct {
	name [3]calc.Key // by lace.Shed
	sign [3]string   // for the short form
	own  bool        // she has said how her rightmost end sits
}

// shedsOf names the sheds from where the rightmost end sits: Shed1 is the one
// that raises it. On a rigid heddle, heddle up raises the ends in holes.
func shedsOf(r class.Rightmost) sheds {
	up, down := calc.Key("shed.up"), calc.Key("shed.down")
	one, two := calc.Key("shed.shaft1"), calc.Key("shed.shaft2")
	switch r {
	case class.Hole:
		return sheds{[3]calc.Key{"", up, down}, [3]string{"", "▲", "▼"}, true}
	case class.Slot:
		return sheds{[3]calc.Key{"", down, up}, [3]string{"", "▼", "▲"}, true}
	case class.Shaft1:
		return sheds{[3]calc.Key{"", one, two}, [3]string{"", "①", "②"}, true}
	case class.Shaft2:
		return sheds{[3]calc.Key{"", two, one}, [3]string{"", "②", "①"}, true}
	}
	return sheds{[3]calc.Key{"", "shed.1", "shed.2"}, [3]string{"", "●", "○"}, false}
}

func arrow(s lace.Side) string {
	if s == lace.Left {
		return "←"
	}
	return "→"
}

func toward(s lace.Side) calc.Key {
	if s == lace.Left {
		return "toward.left"
	}
	return "toward.right"
}

func sideName(s lace.Side) string {
	if s == lace.Left {
		return "left"
	}
	return "right"
}

func sideOf(name string) lace.Side {
	if name == "left" {
		return lace.Left
	}
	return lace.Right
}

// legend explains the short forms with this weaver's own signs.
func (s sheds) legend(c *bot.Call) bot.List {
	return bot.List{
		c.Say("legend.under"),
		c.Say("legend.short", s.name[1], s.sign[1], s.name[2], s.sign[2]),
		c.Say("legend.turn"),
	}
}
