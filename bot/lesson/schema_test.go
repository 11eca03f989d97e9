package lesson_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"weftroom/bot"
)

var answerSchema = sync.OnceValues(func() (*jsonschema.Schema, error) {
	path, err := filepath.Abs("../../testdata/schema/answer.json")
	if err != nil {
		return nil, err
	}
	return jsonschema.NewCompiler().Compile(path)
})

// keepsSchema holds a reply, as `ask --json` would print it, against the schema
// of answers.
func keepsSchema(r bot.Reply) error {
	schema, err := answerSchema()
	if err != nil {
		return err
	}
	files := []any{}
	for _, f := range r.Files {
		files = append(files, map[string]any{"name": f.Name, "media_type": f.MediaType, "bytes": len(f.Bytes), "alt": f.Alt})
	}
	answer := map[string]any{
		"command": r.Command, "ok": r.Problem == nil, "error": nil, "title": r.Title, "text": bot.Plain(r), "data": r.Data, "files": files,
	}
	if p := r.Problem; p != nil {
		answer["error"] = map[string]any{"code": p.Code, "message": p.Message, "hint": p.Hint}
	}
	raw, err := json.Marshal(answer)
	if err != nil {
		return err
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		return err
	}
	if err := schema.Validate(v); err != nil {
		return fmt.Errorf("the answer breaks the schema: %w", err)
	}
	return nil
}
