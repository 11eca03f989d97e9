package lesson

import "weftroom/bot"

var englishDesign = bot.Texts{
	"me.head_designs":  "Your designs",
	"me.design":        "“%s”, made %s",
	"me.design_last":   "The last design that you made and gave no name, %s",
	"me.design_shared": "%s; shared with %s",

	"forget.goes_designs.one":   "%d design made of holes, with its picture if it has one",
	"forget.goes_designs.many":  "%d designs made of holes, with their pictures",
	"forget.stays_shared":       "Designs that you share with a class, without your name",
	"forget.stays_designs.one":  "%d design that you share with a class, with its picture if it has one, without your name",
	"forget.stays_designs.many": "%d designs that you share with a class, with their pictures, without your name",
	"forget.drop_first":         "What you share with a class goes too if you drop it first; see: designs",
}
