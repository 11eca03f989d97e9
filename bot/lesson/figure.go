package lesson

import (
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

// block is what stands for the drawing among other blocks.
func (f figure) block() bot.Picture {
	return bot.Picture{
		Name: f.name + ".png", Alt: f.alt, Width: paper.PictureWidth,
		Draw: func() ([]byte, error) {
			s, err := f.sheet()
			if err != nil {
				return nil, err
			}
			return paper.PNG(s, paper.PictureWidth)
		},
	}
}
