package console

import (
	"bufio"
	"errors"
	"io"
	"strings"
)

// longest is the most bytes of one line that are kept: more than any handler
// reads, so that it is the handler who refuses what is too long.
const longest = 1 << 20

// plain reads lines as they come: from a pipe, a file, or a terminal that
// cannot be edited in.
type plain struct {
	in  *input
	r   *bufio.Reader
	out io.Writer
}

func openPlain(o Options) (*plain, error) {
	in, err := openInput(o.In)
	if err != nil {
		return nil, err
	}
	return &plain{in: in, r: bufio.NewReader(in), out: o.Out}, nil
}

func (p *plain) next(prompt string) (string, error) {
	if _, err := io.WriteString(p.out, prompt); err != nil {
		return "", err
	}
	var line []byte
	for {
		part, err := p.r.ReadSlice('\n')
		line = append(line, part[:min(len(part), longest-len(line))]...)
		switch {
		case err == nil, errors.Is(err, io.EOF) && len(line) > 0:
			return strings.TrimRight(string(line), "\r\n"), nil
		case !errors.Is(err, bufio.ErrBufferFull):
			return "", err
		}
	}
}

func (p *plain) stop()        { p.in.stop() }
func (p *plain) nudge()       {} // nobody can tell whether something is typed already
func (p *plain) close() error { p.in.close(); return nil }
