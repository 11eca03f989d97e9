package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"

	"weftroom/bot"
	"weftroom/bot/store"
	"weftroom/calc"
)

type askCmd struct {
	JSON  bool     `name:"json" help:"Print one JSON object instead of text."`
	Files string   `placeholder:"DIR" type:"path" help:"Write the answer's files into this folder."`
	State string   `placeholder:"FILE" type:"path" help:"Remember what is said in this file; without it nothing is remembered."`
	Line  []string `arg:"" passthrough:"" name:"COMMAND LINE" help:"The command line, or - to read it from standard input."`
}

// answer is what ask --json prints. Scripts depend on it: see
// testdata/schema/answer.json.
type answer struct {
	Command string       `json:"command"`
	OK      bool         `json:"ok"`
	Error   *answerError `json:"error"`
	Title   string       `json:"title"`
	Text    string       `json:"text"`
	Data    any          `json:"data"`
	Files   []answerFile `json:"files"`
}

type answerError struct {
	Code    calc.Code `json:"code"`
	Message string    `json:"message"`
	Hint    string    `json:"hint"`
}

type answerFile struct {
	Name      string `json:"name"`
	MediaType string `json:"media_type"`
	Bytes     int    `json:"bytes"`
	Alt       string `json:"alt"`
}

// Run answers one line. The exit codes are those of the constants in main.go.
func (a *askCmd) Run(std *streams) error {
	line, err := a.line(std.in)
	if err != nil {
		return a.fail(std.out, err)
	}
	state := store.NewMemory()
	if a.State != "" {
		if state, err = store.Open(a.State); err != nil {
			return a.fail(std.out, err)
		}
	}
	log := slog.New(slog.NewTextHandler(std.err, nil))
	d := newDispatcher(state, log)
	here := bot.Account{Chat: "ask", User: "you"}
	r := d.Handle(context.Background(), bot.Request{ID: "ask", From: here, In: bot.Place{Chat: "ask"}, Direct: true, Role: bot.Teacher, Line: line})
	if err := a.writeFiles(r.Files); err != nil {
		return a.fail(std.out, err)
	}
	if err := a.print(std.out, r); err != nil {
		return err
	}
	if r.Problem == nil {
		return nil
	}
	fmt.Fprintln(std.err, r.Problem.Sentence())
	if r.Problem.Code == bot.Internal || r.Problem.Code == bot.Busy {
		return exit(exitFault)
	}
	return exit(exitAsker)
}

// fail is err, which main reports; a script gets its object all the same.
func (a *askCmd) fail(out io.Writer, err error) error {
	if a.JSON {
		r := bot.Reply{Problem: &bot.Problem{Code: bot.Internal, Message: err.Error()}}
		return errors.Join(err, answerOf(r).write(out))
	}
	return err
}

// line is the command line; of standard input no more than 4 MiB are read,
// which is enough to say that it is too long.
func (a *askCmd) line(in io.Reader) (string, error) {
	if len(a.Line) != 1 || a.Line[0] != "-" {
		return strings.Join(a.Line, " "), nil
	}
	raw, err := io.ReadAll(io.LimitReader(in, 4<<20))
	return strings.TrimRight(string(raw), "\r\n"), err
}

func (a *askCmd) writeFiles(files []bot.File) error {
	if a.Files == "" {
		return nil
	}
	if err := os.MkdirAll(a.Files, 0o755); err != nil {
		return err
	}
	for _, f := range files {
		if err := os.WriteFile(filepath.Join(a.Files, filepath.Base(f.Name)), f.Bytes, 0o644); err != nil {
			return err
		}
	}
	return nil
}

func (a *askCmd) print(out io.Writer, r bot.Reply) error {
	if a.JSON {
		return answerOf(r).write(out)
	}
	if r.Problem != nil {
		return nil
	}
	_, err := io.WriteString(out, bot.Plain(r))
	return err
}

func answerOf(r bot.Reply) answer {
	o := answer{Command: r.Command, OK: r.Problem == nil, Title: r.Title, Text: bot.Plain(r), Data: r.Data, Files: []answerFile{}}
	if p := r.Problem; p != nil {
		o.Error = &answerError{p.Code, p.Message, p.Hint}
	}
	for _, f := range r.Files {
		o.Files = append(o.Files, answerFile{f.Name, f.MediaType, len(f.Bytes), f.Alt})
	}
	return o
}

// streamed is data that writes itself as JSON piece by piece, because it may be
// too large to hold as text.
type streamed interface {
	WriteJSON(w io.Writer) error
}

// write prints the answer on one line, its fields in the order of the type.
func (o answer) write(out io.Writer) error {
	w := bufio.NewWriterSize(out, 1<<16)
	for _, f := range []struct {
		before string
		value  any
	}{
		{`{"command":`, o.Command}, {`,"ok":`, o.OK}, {`,"error":`, o.Error}, {`,"title":`, o.Title}, {`,"text":`, o.Text},
		{`,"data":`, o.Data}, {`,"files":`, o.Files},
	} {
		w.WriteString(f.before) // its error comes back from Flush
		if err := writeValue(w, f.value); err != nil {
			return err
		}
	}
	w.WriteString("}\n")
	return w.Flush()
}

func writeValue(w io.Writer, v any) error {
	if s, ok := v.(streamed); ok {
		return s.WriteJSON(w)
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return err
	}
	_, err := w.Write(bytes.TrimSuffix(b.Bytes(), []byte("\n")))
	return err
}
