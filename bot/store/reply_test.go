package store

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"weftroom/bot"
)

// blocks is one of each kind, every field of it set.
var blocks = []bot.Block{
	bot.Paragraph("p"), bot.Heading("h"), bot.List{"a", "b"},
	bot.Table{Head: []string{"a"}, Rows: [][]string{{"b"}}, Numbers: []bool{true}},
	bot.Steps{{Label: "1–4", Text: "t", Short: "s"}},
	bot.Picture{Name: "n", Alt: "a", Width: 2, Height: 3},
}

// TestReplyIsKeptWhole: whoever gives a Reply, a block or a picture another
// field, or makes another kind of block, hears of it here.
func TestReplyIsKeptWhole(t *testing.T) {
	at := time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC)
	full := bot.Reply{
		Command: "c", Title: "t", Body: blocks,
		Files:   []bot.File{{Name: "n", MediaType: "m", Alt: "a", Bytes: []byte{0, 255}}},
		Buttons: []bot.Button{{Label: "l", Line: "c"}}, Audience: bot.Room,
		Data:    json.RawMessage(`{"a":[1,2.5,"x"]}`),
		Problem: &bot.Problem{Code: "c", Message: "m", Hint: "h", Argument: "a"}, Ask: &bot.Question{Line: "l", Unsure: "u", Fields: []string{"f"}},
		Moments: []bot.Moment{{Text: "t", At: at}}, Instead: true,
		Events: []bot.Event{{Key: "k", Title: "t", About: "a", Start: at, End: at.Add(time.Hour), Cancelled: true}},
	}
	unset(t, "Reply", reflect.ValueOf(full))
	raw, err := encodeReply(full)
	if err != nil {
		t.Fatal(err)
	}
	got, err := decodeReply(raw)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(full, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	known := map[string]bool{}
	for _, b := range blocks {
		known[reflect.TypeOf(b).Name()] = true
	}
	for _, kind := range kindsOfBlock(t) {
		if !known[kind] {
			t.Errorf("blocks of kind %s are not tried here", kind)
		}
	}
}

// unset complains of every field in v that has its zero value, Draw excepted.
func unset(t *testing.T, path string, v reflect.Value) {
	if at, ok := v.Interface().(time.Time); ok && !at.IsZero() {
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			unset(t, path+"."+v.Type().Field(i).Name, v.Field(i))
		}
	case reflect.Slice, reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			t.Errorf("%s is not tried here", path)
		} else if v.Kind() != reflect.Slice {
			unset(t, path, v.Elem())
		} else {
			for i := range v.Len() {
				if v.Type().Elem().Kind() != reflect.Uint8 {
					unset(t, path, v.Index(i))
				}
			}
		}
	case reflect.Func: // a picture is not drawn again
	default:
		if v.IsZero() {
			t.Errorf("%s is not tried here", path)
		}
	}
}

// kindsOfBlock are the types of package bot that have the method block.
func kindsOfBlock(t *testing.T) (kinds []string) {
	files, err := filepath.Glob("../*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range files {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		src, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, src, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range f.Decls {
			if m, ok := d.(*ast.FuncDecl); ok && m.Recv != nil && m.Name.Name == "block" {
				kinds = append(kinds, m.Recv.List[0].Type.(*ast.Ident).Name)
			}
		}
	}
	if len(kinds) < 6 {
		t.Fatalf("only %v found: the test looks in the wrong place", kinds)
	}
	return kinds
}

// TestReplyComesBack tries replies of any shape, with empty parts in them.
func TestReplyComesBack(t *testing.T) {
	text, texts := rapid.String(), rapid.SliceOfN(rapid.String(), 0, 3)
	block := rapid.OneOf(
		rapid.Map(text, func(s string) bot.Block { return bot.Paragraph(s) }),
		rapid.Map(text, func(s string) bot.Block { return bot.Heading(s) }),
		rapid.Map(texts, func(s []string) bot.Block { return bot.List(s) }),
		rapid.Custom(func(t *rapid.T) bot.Block {
			return bot.Table{Head: texts.Draw(t, "head"), Rows: rapid.SliceOfN(texts, 0, 3).Draw(t, "rows"), Numbers: rapid.SliceOfN(rapid.Bool(), 0, 3).Draw(t, "numbers")}
		}),
		rapid.Custom(func(t *rapid.T) bot.Block {
			return bot.Steps(rapid.SliceOfN(rapid.Make[bot.Step](), 0, 3).Draw(t, "steps"))
		}),
		rapid.Just[bot.Block](bot.List(nil)), rapid.Just[bot.Block](bot.Steps(nil)), rapid.Just[bot.Block](bot.Table{}), rapid.Just[bot.Block](bot.Picture{}),
	)
	rapid.Check(t, func(t *rapid.T) {
		want := bot.Reply{
			Title:   text.Draw(t, "title"),
			Body:    rapid.SliceOfN(block, 0, 4).Draw(t, "body"),
			Files:   rapid.SliceOfN(rapid.Make[bot.File](), 0, 2).Draw(t, "files"),
			Buttons: rapid.SliceOfN(rapid.Make[bot.Button](), 0, 2).Draw(t, "buttons"),
			Problem: rapid.Ptr(rapid.Make[bot.Problem](), true).Draw(t, "problem"),
			Ask:     rapid.Ptr(rapid.Make[bot.Question](), true).Draw(t, "ask"),
		}
		raw, err := encodeReply(want)
		if err != nil {
			t.Fatal(err)
		}
		got, err := decodeReply(raw)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got, cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("(-want +got):\n%s\n%s", diff, raw)
		}
	})
}
