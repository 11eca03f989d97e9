package lesson

import (
	"encoding/json"
	"strconv"

	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// rowData is a row plan for scripts. Ends are numbered from the right and shed
// 1 raises the odd ones, whatever the starting side.
type rowData struct {
	Technique string       `json:"technique"`
	Ends      int          `json:"ends"`
	Rows      []rowRowData `json:"rows"`
	PicksHigh int          `json:"picks_high"`
	WeftM     *float64     `json:"weft_m"` // null without a sett
}

type rowRowData struct {
	Number int      `json:"number"`
	Start  string   `json:"start"`
	Way    string   `json:"way"`
	Groups []int    `json:"groups"`
	Passes passList `json:"passes"`
}

func rowDataOf(p *lace.Plan, weft measure.Length) rowData {
	d := rowData{Technique: "spanish lace", Ends: p.Design.Ends, PicksHigh: p.PicksHigh()}
	if weft > 0 {
		m := float64(weft)
		d.WeftM = &m
	}
	way := "one"
	if p.Design.Way == lace.TwoWay {
		way = "two"
	}
	for _, r := range p.Rows {
		d.Rows = append(d.Rows, rowRowData{r.Number, sideName(r.Start), way, r.Groups, r.Moves})
	}
	return d
}

// passList writes moves by hand: a long plan has millions of them, and the
// general encoder takes many times as long.
type passList []lace.Move

var _ json.Marshaler = passList(nil)

var (
	tensionNames = [...]string{lace.Plain: "plain", lace.Slack: "slack", lace.Snug: "snug"}
	kindNames    = [...]string{lace.GroupPass: "group", lace.HomePick: "home"}
)

// MarshalJSON implements json.Marshaler.
func (l passList) MarshalJSON() ([]byte, error) {
	b := make([]byte, 0, 100*len(l)+2)
	b = append(b, '[')
	for i, m := range l {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, `{"step":`...)
		b = strconv.AppendInt(b, int64(i+1), 10)
		b = append(b, `,"shed":`...)
		b = strconv.AppendInt(b, int64(m.Shed), 10)
		b = append(b, `,"toward":"`+sideName(m.Toward)+`","under":`...)
		b = strconv.AppendInt(b, int64(m.Under), 10)
		b = append(b, `,"tension":"`+tensionNames[m.Turn]+`","kind":"`+kindNames[m.Kind]+`"}`...)
	}
	return append(b, ']'), nil
}
