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
	"slices"
	"strings"
	"time"

	"weftroom/adapters/console"
	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/lesson"
	"weftroom/bot/store"
	"weftroom/calc"
	"weftroom/config"
)

type askCmd struct {
	JSON   bool     `name:"json" help:"Print one JSON object instead of text."`
	Files  string   `placeholder:"DIR" type:"path" help:"Write the answer's files and pictures into this folder."`
	State  string   `placeholder:"FILE" help:"Keep the class in this database: a file, or a postgres:// URL; without it nothing is kept."`
	Attach []string `placeholder:"FILE" sep:"none" help:"Send this file along, or - for standard input; again for another file."`
	Line   []string `arg:"" passthrough:"" name:"COMMAND LINE" help:"The command line, or - to read it from standard input."`
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
	r, done, err := a.ask(line, std)
	if err != nil {
		return a.fail(std.out, err)
	}
	defer done()
	if err := a.writeFiles(&r, std.err); err != nil {
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

// ask has the line answered. What of the answer is drawn later may need the
// database until done is called.
func (a *askCmd) ask(line string, std *streams) (r bot.Reply, done func(), err error) {
	q, wrong := a.request(line, std.in)
	if wrong != nil {
		return bot.Reply{Problem: wrong}, func() {}, nil
	}
	h, done, err := a.handler(newLog(std.err, slog.LevelInfo))
	if err != nil {
		return bot.Reply{}, nil, err
	}
	r = h.Handle(context.Background(), q)
	if files, ok := a.unnamed(r, std.in); ok {
		q.ID, q.Attached = "ask-"+session(), files
		r = h.Handle(context.Background(), q)
	}
	return r, done, nil
}

// request is the line with the files that come with it, or what is wrong with
// those.
func (a *askCmd) request(line string, in io.Reader) (bot.Request, *bot.Problem) {
	q := asked(line)
	files, wrong := a.attached(in)
	q.Attached, q.Enclosing = files, keyFileFlag
	return q, wrong
}

// asked is a line as a Request of the operator, who is who chat would have her
// be: the teacher of whatever room it is in.
func asked(line string) bot.Request {
	room := console.New(console.Options{User: config.Default().Console.Name})
	return bot.Request{
		ID: "ask-" + session(), From: room.User(), In: room.Place(), Direct: true, Role: bot.Teacher, Power: true,
		At: time.Now(), Name: room.User().User, Line: line,
	}
}

// handler answers the line: from a database, or without one.
func (a *askCmd) handler(log *slog.Logger) (h bot.Handler, done func(), err error) {
	if a.State == "" {
		return bare(log), func() {}, nil
	}
	house, err := openHouse(context.Background(), expanded(a.State), store.Options{}, log, nil)
	if err != nil {
		return nil, nil, explained(err)
	}
	return house.dispatcher, house.close, nil
}

// withoutState are the commands that need nothing kept.
var withoutState = []string{"loom", "row", "motif", "problem", "mend", "reach", "handout", "fit", "warp", "sett", "yardage", "word", "help"}

const keyNeedsState calc.Key = "ask.needs_state" // no arguments

// bare answers what can be answered without a database, and opens none. What
// needs one says so.
func bare(log *slog.Logger) bot.Handler {
	m := store.NewMemory()
	commands := lesson.Commands(&lesson.Desk{Store: class.Bare{Looms: m}, Now: time.Now})
	for _, c := range commands {
		if !slices.Contains(withoutState, c.Name) {
			needState(c)
		}
	}
	texts := lesson.English()
	texts[keyNeedsState] = "That needs what is kept in a database, and ask opens none until you name it before the command"
	return bot.NewDispatcher(commands, m, texts, log)
}

func needState(c *bot.Command) {
	for _, sub := range c.Subs {
		needState(sub)
	}
	if c.Run != nil {
		c.Run = func(context.Context, *bot.Call) (bot.Reply, error) {
			return bot.Reply{}, &calc.Fault{Code: bot.MissingArgument, Key: keyNeedsState, Example: "--state class.db"}
		}
	}
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
	if !a.fromInput() {
		return strings.Join(a.Line, " "), nil
	}
	raw, err := io.ReadAll(io.LimitReader(in, 4<<20))
	return strings.TrimRight(string(raw), "\r\n"), err
}

// fromInput tells that the command line is on standard input.
func (a *askCmd) fromInput() bool { return len(a.Line) == 1 && a.Line[0] == "-" }

// writeFiles writes the answer's files, and its pictures, which become files of
// it: they are drawn for nobody else. What was written is told beside the answer,
// which a script reads, and so is that there was something to write.
func (a *askCmd) writeFiles(r *bot.Reply, beside io.Writer) error {
	if a.Files == "" {
		for _, f := range r.Files {
			if a.JSON { // the object lists them
				break
			}
			fmt.Fprintf(beside, "weftroom: %s is not written; --files DIR before the command says where to\n", f.Name)
		}
		return nil
	}
	if err := os.MkdirAll(a.Files, 0o755); err != nil {
		return err
	}
	for _, block := range r.Body {
		if p, ok := block.(bot.Picture); ok && p.Draw != nil {
			raw, err := p.Draw()
			if err != nil {
				return err
			}
			r.Files = append(r.Files, bot.File{Name: p.Name, MediaType: "image/png", Alt: p.Alt, Bytes: raw})
		}
	}
	for _, f := range r.Files {
		path := filepath.Join(a.Files, filepath.Base(f.Name))
		if err := os.WriteFile(path, f.Bytes, 0o644); err != nil {
			return err
		}
		fmt.Fprintf(beside, "weftroom: written: %s\n", path)
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
