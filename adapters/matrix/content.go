package matrix

import (
	"bytes"
	"context"
	"strings"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/crypto/attachment"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// content is a part as Matrix writes it. Files are uploaded, encrypted by us
// where the room is.
func (l *link) content(ctx context.Context, p part, how relation, sealed bool) (*event.MessageEventContent, error) {
	f := l.chat.drawn(&p)
	m := &event.MessageEventContent{MsgType: event.MsgText, Body: p.Body, Mentions: &event.Mentions{UserIDs: how.Mentions}}
	if p.Notice {
		m.MsgType = event.MsgNotice
	}
	if p.HTML != "" {
		m.Format, m.FormattedBody = event.FormatHTML, p.HTML
	}
	if f != nil {
		if err := l.attach(ctx, m, f, sealed); err != nil {
			return nil, err
		}
	}
	relate(m, how)
	return m, nil
}

// relate says how a message stands to others. For programs that know no threads,
// one in a thread is also a reply.
func relate(m *event.MessageEventContent, how relation) {
	switch {
	case how.Replaces != "":
		text := *m
		m.NewContent = &text
		m.RelatesTo = &event.RelatesTo{Type: event.RelReplace, EventID: how.Replaces}
		m.Body = "* " + m.Body
		if m.FormattedBody != "" {
			m.FormattedBody = "* " + m.FormattedBody
		}
	case how.Thread != "" && how.ReplyTo != "":
		m.RelatesTo = &event.RelatesTo{Type: event.RelThread, EventID: how.Thread, InReplyTo: &event.InReplyTo{EventID: how.ReplyTo}}
	case how.Thread != "":
		m.RelatesTo = &event.RelatesTo{Type: event.RelThread, EventID: how.Thread,
			InReplyTo: &event.InReplyTo{EventID: how.Thread}, IsFallingBack: true}
	case how.ReplyTo != "":
		m.RelatesTo = &event.RelatesTo{InReplyTo: &event.InReplyTo{EventID: how.ReplyTo}}
	}
}

// attach uploads a file and has the message be about it.
func (l *link) attach(ctx context.Context, m *event.MessageEventContent, f *file, sealed bool) error {
	m.MsgType = event.MsgFile
	if strings.HasPrefix(f.MediaType, "image/") && f.Width > 0 {
		m.MsgType = event.MsgImage
	}
	m.FileName = f.Name
	if m.Body == "" {
		m.Body = f.Name
	}
	m.Info = &event.FileInfo{MimeType: f.MediaType, Size: len(f.Bytes), Width: f.Width, Height: f.Height}
	url, key, err := l.upload(ctx, f.Bytes, f.MediaType, sealed)
	if err != nil {
		return err
	}
	m.URL, m.File = url, key
	if len(f.Thumb) == 0 {
		return nil
	}
	url, key, err = l.upload(ctx, f.Thumb, "image/png", sealed)
	m.Info.ThumbnailURL, m.Info.ThumbnailFile = url, key
	m.Info.ThumbnailInfo = &event.FileInfo{MimeType: "image/png", Size: len(f.Thumb), Width: f.ThumbWidth, Height: f.ThumbHeight}
	return err
}

// upload gives the server the bytes of a file, sealed where the room is: then it
// learns nothing of them, and key holds what opens them.
func (l *link) upload(ctx context.Context, raw []byte, mediaType string, sealed bool) (plain id.ContentURIString, key *event.EncryptedFileInfo, err error) {
	if sealed {
		f := attachment.NewEncryptedFile()
		raw, mediaType = bytes.Clone(raw), "application/octet-stream"
		f.EncryptInPlace(raw)
		key = &event.EncryptedFileInfo{EncryptedFile: *f}
	}
	got, err := l.client.UploadMedia(mautrix.WithMaxRetries(ctx, 0), mautrix.ReqUploadMedia{ContentBytes: raw, ContentType: mediaType})
	if err != nil {
		return "", nil, err
	}
	uri := got.ContentURI.CUString()
	if sealed {
		key.URL = uri
		return "", key, nil
	}
	return uri, nil, nil
}
