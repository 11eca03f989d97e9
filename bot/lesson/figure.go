package lesson

import (
	"sync"

	"weftroom/bot"
	"weftroom/bot/paper"
)

// figure is a drawing and what it shows in words: on a handout a part of the
// page, in a chat a picture of its own.
type figure struct {
	name  string // of its file, without the ending
	alt   string
	sheet func() (*paper.Sheet, error) // safe to call from any goroutine
}

// gallery has the pictures of the whole process, whichever chat asked for them: a
// hundred or so. It changes no answer, only how soon a picture is there.
var gallery = paper.NewGallery(16 << 20)

// block is what stands for the drawing among other blocks. Nothing is laid out
// until it is to be shown.
func (f figure) block() bot.Picture {
	sheet := sync.OnceValues(f.sheet)
	return bot.Picture{
		Name: f.name + ".png", Alt: f.alt, Width: paper.PictureWidth,
		Draw:  func() ([]byte, error) { return gallery.PNG(sheet, paper.PictureWidth) },
		Small: func() ([]byte, error) { return gallery.PNG(sheet, paper.SmallWidth) },
	}
}
