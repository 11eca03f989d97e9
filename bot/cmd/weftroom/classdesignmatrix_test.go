//go:build goolm

package main

import (
	"testing"

	"maunium.net/go/mautrix/crypto/attachment"
	"maunium.net/go/mautrix/event"
)

// TestDesignsOnMatrix: in an encrypted room a chart is a block of code, and a
// picture comes encrypted, with the command as its caption.
func TestDesignsOnMatrix(t *testing.T) {
	t.Parallel()
	v := newMatrixVenue(t)
	playDesigns(t, v, func(guest, artist) {})
	for _, p := range v.people {
		for event, err := range p.Undecryptable() {
			t.Errorf("%s could not read %s: %v", p.ID.Localpart(), event, err)
		}
	}
}

// draws writes a chart as a block of code.
func (p *matrixPerson) draws(t *testing.T, chart string) {
	t.Helper()
	p.say(t, false, "motif\n```\n"+chart+"\n```")
}

// sends uploads a file that the homeserver cannot read, under a command.
func (p *matrixPerson) sends(t *testing.T, args, name string, raw []byte) {
	t.Helper()
	key := &event.EncryptedFileInfo{EncryptedFile: *attachment.NewEncryptedFile()}
	sealed := append([]byte(nil), raw...)
	key.EncryptInPlace(sealed)
	there, err := p.Client.UploadBytes(t.Context(), sealed, "application/octet-stream")
	if err != nil {
		t.Fatal(err)
	}
	key.URL = there.ContentURI.CUString()
	p.Send(t, p.venue.room, event.EventMessage, &event.MessageEventContent{
		MsgType: event.MsgImage, Body: "!motif " + args, FileName: name, File: key, Info: &event.FileInfo{MimeType: "image/png", Size: len(raw)},
	})
}
