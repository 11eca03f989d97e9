package matrix

import (
	"bytes"
	"image"
	_ "image/gif"  // so that their sizes are known
	_ "image/jpeg" // so that their sizes are known
	"image/png"
	"path"
	"strings"
	"unicode/utf8"

	"golang.org/x/image/draw"

	"weftroom/bot"
)

// Bounds of thumbnails. Wider pictures get one, so that a phone need not load all
// of a chart to show it in the talk.
const (
	thumbWidth = 800
	thumbMost  = 40_000_000 // pixels of the picture; a larger one is not decoded
)

// newFile is a file as it is sent: with a harmless name, its size in pixels when
// it is a picture, and a thumbnail of a wide one.
func newFile(f bot.File) *file {
	out := &file{Name: fileName(f.Name), MediaType: f.MediaType, Alt: caption(f.Alt), Bytes: f.Bytes}
	if !strings.HasPrefix(f.MediaType, "image/") {
		return out
	}
	config, _, err := image.DecodeConfig(bytes.NewReader(f.Bytes))
	if err != nil || config.Width < 1 || config.Height < 1 {
		out.MediaType = "application/octet-stream" // programs must not try to show it
		return out
	}
	out.Width, out.Height = config.Width, config.Height
	if config.Width > thumbWidth && config.Height <= thumbMost/config.Width {
		out.Thumb, out.ThumbWidth, out.ThumbHeight = thumbnail(f.Bytes)
	}
	return out
}

// thumbnail is a picture at thumbWidth, as PNG; nil when it cannot be made.
func thumbnail(raw []byte) (small []byte, width, height int) {
	whole, _, err := image.Decode(bytes.NewReader(raw))
	if err != nil {
		return nil, 0, 0
	}
	size := whole.Bounds()
	height = max(1, size.Dy()*thumbWidth/size.Dx())
	scaled := image.NewRGBA(image.Rect(0, 0, thumbWidth, height))
	draw.ApproxBiLinear.Scale(scaled, scaled.Bounds(), whole, size, draw.Src, nil)
	var b bytes.Buffer
	if err := png.Encode(&b, scaled); err != nil {
		return nil, 0, 0
	}
	return b.Bytes(), thumbWidth, height
}

// caption is an alternative text on one line, which a message certainly holds.
func caption(alt string) string {
	const most = 4000
	alt = strings.Join(strings.Fields(bot.Visible(alt)), " ")
	if runes := []rune(alt); len(runes) > most {
		alt = string(runes[:most]) + "…"
	}
	return alt
}

// fileName keeps of a name what every system takes, and nothing that leads into
// another folder or hides the file.
func fileName(name string) string {
	const most = 100
	name = path.Base(strings.ReplaceAll(bot.Visible(name), `\`, "/"))
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/:*?"<>|`, r) || r == utf8.RuneError || r <= ' ' {
			return '-'
		}
		return r
	}, name)
	for len(name) > most {
		_, n := utf8.DecodeRuneInString(name)
		name = name[n:] // the end tells the kind of file
	}
	if name = strings.TrimLeft(name, ".-"); name == "" {
		return "file"
	}
	return name
}
