package bot

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"time"

	"weftroom/calc"
)

// MaxFile is the most bytes that a file may have which comes with a request: 5 MB,
// our own bound, for a phone's photo.
const MaxFile = 5_000_000

// fileLasts is how long a file may take to arrive: our own bound.
const fileLasts = 30 * time.Second

// ErrTooMuch is what Attached.Read fails with, or wraps, when there is more than
// it may give.
var ErrTooMuch = errors.New("the file is too large")

// ReadMost reads to the end. It fails with what wraps ErrTooMuch when there are
// more than most bytes, and reads no further than one of these.
func ReadMost(r io.Reader, most int64) ([]byte, error) {
	raw, err := io.ReadAll(io.LimitReader(r, most+1))
	if err == nil && int64(len(raw)) > most {
		return nil, fmt.Errorf("%w: more than %d bytes", ErrTooMuch, most)
	}
	return raw, err
}

// Sentences of files that come with a request.
const (
	KeyFileNeeded   calc.Key = "file.needed"    // the argument, the command, how a file is sent along
	KeyFileWords    calc.Key = "file.words"     // the argument, how a file is sent along
	KeyFileTooLarge calc.Key = "file.too_large" // the file, its size in MB, what is allowed in MB
	KeyFilesTooMany calc.Key = "file.too_many"  // how many came, the command, how many it takes
	KeyFileLost     calc.Key = "file.lost"      // the file, which could not be loaded from the chat
	KeyFileAttach   calc.Key = "file.attach"    // how a file is sent along where the chat says nothing else
	KeyFileHelp     calc.Key = "file.help"      // the argument, how a file is sent along
)

// File is an Enclosed argument; ok is false when none came. It has arrived and is
// not larger than MaxFile: its Read blocks on nothing.
func (a Args) File(name string) (f Attached, ok bool) {
	f, ok = a.values[name].(Attached)
	return f, ok
}

// enclose gives the files of a request to the arguments that are files, and
// waits for their bytes: a command that changes anything runs in a transaction,
// in which nobody waits for a network.
func (d *Dispatcher) enclose(ctx context.Context, c *call, args Args) error {
	takes := c.command.fileParams()
	if len(takes) == 0 {
		return nil
	}
	if err := c.command.deal(args, c.request, takes); err != nil {
		return err
	}
	for _, p := range takes {
		f, ok := args.File(p.Name)
		if !ok {
			continue
		}
		raw, err := c.command.load(ctx, p, f)
		if _, mendable := errors.AsType[*calc.Fault](err); err != nil && !mendable && ctx.Err() == nil {
			d.log.Warn("a file could not be loaded", "request", c.request.ID, "chat", c.request.From.Chat, "err", c.redact(err.Error()))
			err = &calc.Fault{Code: calc.BadValue, Key: KeyFileLost, Field: p.Name, Args: []any{clip(f.Name)}, Example: c.command.sample()}
		}
		if err != nil {
			return err
		}
		args.values[p.Name] = f.holding(raw)
	}
	return nil
}

// deal gives each argument its file: first those that the chat names, then the
// others in their order.
func (c *Command) deal(args Args, r Request, takes []*Param) error {
	left := slices.Clone(r.Attached)
	for _, named := range []bool{true, false} {
		for _, p := range takes {
			if _, has := args.File(p.Name); has {
				continue
			}
			i := slices.IndexFunc(left, func(f Attached) bool { return named && f.For == p.Name || !named && f.For == "" })
			if i >= 0 {
				args.values[p.Name], args.given[p.Name] = left[i], left[i].Name
				left = slices.Delete(left, i, i+1)
			}
		}
	}
	if len(left) > 0 {
		return &calc.Fault{Code: calc.Conflict, Key: KeyFilesTooMany, Field: takes[0].Name,
			Args: []any{len(r.Attached), c.path(), len(takes)}, Example: c.sample()}
	}
	return c.withoutFile(args, r, takes)
}

// withoutFile refuses words in the place of a file, and a needed file that did
// not come.
func (c *Command) withoutFile(args Args, r Request, takes []*Param) error {
	for _, p := range takes {
		_, has := args.File(p.Name)
		_, said := args.given[p.Name]
		switch {
		case has:
		case said:
			return &calc.Fault{Code: calc.BadValue, Key: KeyFileWords, Field: p.Name, Args: []any{p.Name, r.enclosing()}, Example: c.sample()}
		case p.Required:
			return &calc.Fault{Code: MissingArgument, Key: KeyFileNeeded, Field: p.Name,
				Args: []any{p.Name, c.path(), r.enclosing()}, Example: c.sample()}
		}
	}
	return nil
}

// load waits for the bytes of a file, no more than allowed, whatever the chat
// says of its size.
func (c *Command) load(ctx context.Context, p *Param, f Attached) ([]byte, error) {
	size, err := f.Size, ErrTooMuch
	var raw []byte
	if size <= MaxFile {
		soon, cancel := context.WithTimeout(ctx, fileLasts)
		defer cancel()
		raw, err = f.Read(soon, MaxFile)
	}
	if errors.Is(err, ErrTooMuch) || len(raw) > MaxFile {
		return nil, &calc.Fault{Code: calc.OutOfRange, Key: KeyFileTooLarge, Field: p.Name,
			Args: []any{clip(f.Name), megabytes(max(size, MaxFile+1)), megabytes(MaxFile)}, Example: c.sample()}
	}
	return raw, err
}

// holding is the file with its bytes at hand.
func (f Attached) holding(raw []byte) Attached {
	f.Size = int64(len(raw))
	f.Read = func(_ context.Context, most int64) ([]byte, error) {
		if f.Size > most {
			return nil, ErrTooMuch
		}
		return raw, nil
	}
	return f
}

// megabytes is a size in millions of bytes, rounded up to a tenth so that what
// is too much never looks as if it were not.
func megabytes(size int64) string {
	if size%1_000_000 == 0 {
		return fmt.Sprint(size / 1_000_000)
	}
	return fmt.Sprintf("%.1f", math.Ceil(float64(size)/100_000)/10)
}

// Encloses tells that a command takes a file.
func (c *Command) Encloses() bool { return len(c.fileParams()) > 0 }

func (c *Command) fileParams() []*Param {
	var out []*Param
	for i := range c.Params {
		if c.Params[i].Kind == Enclosed {
			out = append(out, &c.Params[i])
		}
	}
	return out
}

// enclosing says how a file is sent along with such a request.
func (r Request) enclosing() calc.Key {
	if r.Enclosing == "" {
		return KeyFileAttach
	}
	return r.Enclosing
}
