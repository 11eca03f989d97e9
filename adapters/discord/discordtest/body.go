package discordtest

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"strings"
)

// maxUpload is the most bytes of a request with files: 10 MiB, the limit of
// servers and people without paid extras ("Reference: Uploading Files").
const maxUpload = 10 << 20

// body is what came with a request.
type body struct {
	raw   json.RawMessage
	files []upload
}

// upload is a part of a multipart body.
type upload struct {
	index     string // the n of files[n]
	name      string
	mediaType string
	bytes     []byte
}

func readBody(r *http.Request) (*body, error) {
	typ, params, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	raw, err := io.ReadAll(io.LimitReader(r.Body, maxUpload+1<<20))
	switch {
	case err != nil:
		return nil, errBadJSON
	case len(raw) > maxUpload:
		return nil, errTooLarge
	case typ == "multipart/form-data":
		return readMultipart(raw, params["boundary"])
	case len(raw) == 0:
		return &body{}, nil
	case typ != "application/json":
		return nil, &refusal{400, 50035, "the Content-Type must be application/json or multipart/form-data", ""}
	case !json.Valid(raw):
		return nil, errBadJSON
	}
	return &body{raw: raw}, nil
}

func readMultipart(raw []byte, boundary string) (*body, error) {
	b := &body{}
	parts := multipart.NewReader(bytes.NewReader(raw), boundary)
	for {
		p, err := parts.NextPart()
		if err == io.EOF {
			return b, nil
		}
		if err != nil {
			return nil, errBadJSON
		}
		content, err := io.ReadAll(p)
		if err != nil {
			return nil, errBadJSON
		}
		name := p.FormName()
		n, isFile := strings.CutPrefix(name, "files[")
		switch {
		case name == "payload_json" && json.Valid(content):
			b.raw = content
		case isFile:
			b.files = append(b.files, upload{strings.TrimSuffix(n, "]"), p.FileName(), p.Header.Get("Content-Type"), content})
		default:
			return nil, form(name, "a part must be payload_json or files[n]")
		}
	}
}

// into reads the body into v. What v does not have is left out: that a body has
// nothing unknown in it is for the outside judge.
func (b *body) into(v any) error {
	if len(b.raw) == 0 {
		return errEmpty
	}
	if err := json.Unmarshal(b.raw, v); err != nil {
		if t, ok := err.(*json.UnmarshalTypeError); ok {
			return form(strings.TrimPrefix(t.Field, "."), "Could not interpret %s as %s.", t.Value, t.Type)
		}
		return errBadJSON
	}
	return nil
}

// File is an attachment as people see it.
type File struct {
	ID        string
	Name      string
	Alt       string
	MediaType string
	Bytes     []byte
	URL       string
	Host      string // where the address of a person's file leads; "" for Discord's own

	channel string
	private bool // of an interaction's option or an ephemeral message
}

// attachment is an entry of "attachments" in what a bot sends. The id is the n
// of files[n], or that of an attachment which the message already has.
type attachment struct {
	ID          json.RawMessage `json:"id"`
	Filename    string          `json:"filename"`
	Description *string         `json:"description"`
}

func (a attachment) id() string { return strings.Trim(string(a.ID), `"`) }

// attach gives the files of a message after what a bot sent: had are those that
// it has. Without a list all are kept and all that are new are added; with one,
// just those that it names remain ("Message Resource", Edit Message).
func (s *Server) attach(channel string, private bool, had []*File, list *[]attachment, b *body) ([]*File, error) {
	made := map[string]*File{}
	var order []*File
	for _, u := range b.files {
		if u.name == "" {
			return nil, form("files["+u.index+"]", "a file must have a name")
		}
		if made[u.index] != nil {
			return nil, form("files["+u.index+"]", "there are two files of this number")
		}
		f := &File{ID: s.newID(), Name: sanitized(u.name), MediaType: u.mediaType, Bytes: u.bytes, channel: channel, private: private}
		made[u.index] = f
		order = append(order, f)
	}
	out := had
	if list == nil {
		out = append(append([]*File(nil), had...), order...)
	} else {
		out = nil
		for i, a := range *list {
			where := fmt.Sprintf("attachments.%d", i)
			f := made[a.id()]
			if f == nil {
				f = find(had, a.id())
			}
			if f == nil {
				return nil, form(where+".id", "there is neither a file nor an attachment %q", a.id())
			}
			if a.Filename != "" {
				f.Name = sanitized(a.Filename)
			}
			if a.Description != nil {
				if n := units(*a.Description); n > 1024 {
					return nil, form(where+".description", "Must be 1024 or fewer in length.")
				}
				f.Alt = *a.Description
			}
			out = append(out, f)
		}
	}
	if len(out) > 10 {
		return nil, form("attachments", "a message has 10 files at most")
	}
	for _, f := range out {
		f.URL = s.fileURL(f)
		s.files[f.ID] = f
	}
	return out, nil
}

func find(files []*File, id string) *File {
	for _, f := range files {
		if f.ID == id {
			return f
		}
	}
	return nil
}

// sanitized is a file's name as Discord keeps it: letters, digits, dot, hyphen
// and underscore (from memory).
func sanitized(name string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == ' ':
			return '_'
		case strings.ContainsRune(`/\<>:"|?*`, r) || r < ' ':
			return -1
		}
		return r
	}, name)
}

func (s *Server) fileURL(f *File) string {
	folder := "attachments"
	if f.private {
		folder = "ephemeral-attachments"
	}
	host := cmp.Or(f.Host, "cdn.discordapp.com")
	return fmt.Sprintf("https://%s/%s/%s/%s/%s?ex=7fffffff&is=0&hm=%s", host, folder, f.channel, f.ID, f.Name, "sig"+f.ID)
}

func (f *File) object() object {
	o := object{
		"id": f.ID, "filename": f.Name, "size": len(f.Bytes), "url": f.URL, "proxy_url": strings.Replace(f.URL, "cdn.discordapp.com", "media.discordapp.net", 1),
		"content_type": f.MediaType, "ephemeral": f.private,
	}
	if f.Alt != "" {
		o["description"] = f.Alt
	}
	return o
}

// serveFile is the CDN: an address is good only with its signature.
func (s *Server) serveFile(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	f := s.files[r.PathValue("id")]
	fault := s.fault("GET /attachments")
	s.mu.Unlock()
	serve := func(w http.ResponseWriter, r *http.Request) {
		if f == nil || r.URL.Query().Get("hm") != "sig"+f.ID {
			http.Error(w, "This content is no longer available.", http.StatusNotFound)
			return
		}
		w.Header().Set("Content-Type", f.MediaType)
		_, _ = w.Write(f.Bytes)
	}
	if fault != nil {
		s.wrong(fault, w, r, serve)
		return
	}
	serve(w, r)
}
