package lesson

import (
	"bytes"
	"io"
	"strconv"

	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// rowData is a row plan for scripts. Ends are numbered from the right and shed
// 1 raises the odd ones, whatever the starting side.
//
// It is written by hand and row by row: the largest plan has two million
// passes, and the general encoder would hold all of them as text at once.
type rowData struct {
	plan *lace.Plan
	weft measure.Length // 0: no sett, so not known

	design *designData // nil for rows whose groups are all alike
}

var (
	wayNames     = [...]string{lace.OneWay: "one", lace.TwoWay: "two"}
	tensionNames = [...]string{lace.Plain: "plain", lace.Slack: "slack", lace.Snug: "snug"}
	kindNames    = [...]string{lace.GroupPass: "group", lace.HomePick: "home"}
)

// WriteJSON writes the plan as one JSON object. No name in it needs escaping.
func (d rowData) WriteJSON(w io.Writer) error {
	b := []byte(`{"technique":"spanish lace","ends":`)
	b = strconv.AppendInt(b, int64(d.plan.Design.Ends), 10)
	b = append(b, `,"rows":[`...)
	for i, row := range d.plan.Rows {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendRow(b, row, wayNames[d.plan.Design.Way])
		if _, err := w.Write(b); err != nil {
			return err
		}
		b = b[:0]
	}
	b = append(b, `],"picks_high":`...)
	b = strconv.AppendInt(b, int64(d.plan.PicksHigh()), 10)
	b = append(b, `,"weft_m":`...)
	if d.weft > 0 {
		b = strconv.AppendFloat(b, float64(d.weft), 'f', -1, 64)
	} else {
		b = append(b, "null"...)
	}
	if d.design != nil {
		b = d.design.appendJSON(b)
	}
	_, err := w.Write(append(b, '}'))
	return err
}

// MarshalJSON implements json.Marshaler, for a plan inside another answer.
func (d rowData) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	err := d.WriteJSON(&b)
	return b.Bytes(), err
}

func appendRow(b []byte, r lace.Row, way string) []byte {
	b = append(b, `{"number":`...)
	b = strconv.AppendInt(b, int64(r.Number), 10)
	b = append(b, `,"start":"`+sideName(r.Start)+`","way":"`+way+`","groups":[`...)
	for i, g := range r.Groups {
		if i > 0 {
			b = append(b, ',')
		}
		b = strconv.AppendInt(b, int64(g), 10)
	}
	b = append(b, `],"passes":[`...)
	for i, m := range r.Moves {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendPass(b, i+1, m)
	}
	return append(b, "]}"...)
}

func appendPass(b []byte, step int, m lace.Move) []byte {
	b = append(b, `{"step":`...)
	b = strconv.AppendInt(b, int64(step), 10)
	b = append(b, `,"shed":`...)
	b = strconv.AppendInt(b, int64(m.Shed), 10)
	b = append(b, `,"toward":"`...)
	b = append(b, sideName(m.Toward)...)
	b = append(b, `","under":`...)
	b = strconv.AppendInt(b, int64(m.Under), 10)
	b = append(b, `,"tension":"`...)
	b = append(b, tensionNames[m.Turn]...)
	b = append(b, `","kind":"`...)
	b = append(b, kindNames[m.Kind]...)
	return append(b, `"}`...)
}
