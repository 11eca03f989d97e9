package discord

import (
	"encoding/json"
	"testing"
)

// FuzzInteraction reads what comes from the gateway, whatever it is: nothing may
// panic, and a form or command is read without its promises.
func FuzzInteraction(f *testing.F) {
	for _, seed := range []string{
		`{"id":"175928847299117063","token":"t","type":2,"user":{"id":"1"},"data":{"name":"row","options":[{"name":"ends","type":4,"value":97}]}}`,
		`{"id":"1","token":"t","type":2,"member":{"user":{"id":"1"},"permissions":"8"},"data":{"name":"session","options":[{"name":"add","type":1,"options":[{"name":"when","type":3,"value":"x"}]}]}}`,
		`{"id":"1","token":"t","type":3,"user":{"id":"1"},"message":{"id":"2","flags":64,"components":[{"type":1,"components":[{"type":2,"custom_id":"w1s0:row"}]}]},"data":{"custom_id":"w1r0:row"}}`,
		`{"id":"1","token":"t","type":5,"user":{"id":"1"},"data":{"custom_id":"w1f0#x","components":[{"type":18,"component":{"type":4,"custom_id":"a","value":"b"}},{"type":99}]}}`,
		`{"id":"1","token":"t","type":2,"user":{"id":"1"},"data":{"name":"trace","options":[{"name":"picture","type":11,"value":"7"}],"resolved":{"attachments":{"7":{"id":"7","filename":"a.png","size":3,"url":"https://cdn.discordapp.com/a.png"}}}}}`,
		`{"id":"1","token":"t","type":2,"user":{"id":"1"},"data":{"name":"ask","options":[{"name":"file","type":11,"value":7},{"name":"line","type":3,"value":"trace"}],"resolved":{"attachments":null}}}`,
		`{"id":"1","token":"t","type":2,"data":{"options":[{"type":1,"options":[{"type":1}]}]}}`, `{}`, `null`, `[]`, `{"data":null,"member":{"user":null}}`,
	} {
		f.Add([]byte(seed))
	}
	chat := &Chat{o: Options{Commands: testCommands, Texts: texts}, open: true}
	f.Fuzz(func(t *testing.T, raw []byte) {
		var it interaction
		if json.Unmarshal(raw, &it) != nil || it.who() == nil {
			return
		}
		r := chat.asked(chat.request(&it), it.Data)
		if r.Command != "" && r.Values == nil {
			t.Errorf("a command without values: %+v", r)
		}
		files := enclosedIn(it.Data)
		if len(files) != len(r.Attached) {
			t.Errorf("of %d files %d come with the request", len(files), len(r.Attached))
		}
		chat.missingText(r, files)
		chat.answers(r, asking{Line: "loom width:", Command: r.Command, Fields: []string{"width"}}, it.Data.Components)
		if it.Message == nil {
			return
		}
		for _, row := range rowsWithout(it.Message.Components, markShare) {
			for _, b := range row.Components {
				if m, ok := readMark(b.CustomID); ok && m.kind == markShare {
					t.Errorf("still there: %+v", b)
				}
			}
		}
		it.Message.digest()
	})
}
