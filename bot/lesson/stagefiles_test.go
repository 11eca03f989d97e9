package lesson_test

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/png"
	"math"
	"testing"

	"weftroom/bot"
)

// sent is a file that somebody sends along, by its name.
func sent(t *testing.T, name string) bot.Attached {
	raw := map[string]func() []byte{
		"leaf.png":  func() []byte { return picture(t, 60, 80, leaf) },
		"night.png": func() []byte { return picture(t, 30, 30, func(_, _ float64) uint8 { return 0 }) },
		"post.png":  func() []byte { return picture(t, 23, 2, post) },
		"notes.txt": func() []byte { return []byte("no picture at all") },
	}[name]()
	return bot.Attached{Name: name, Size: int64(len(raw)), Read: func(context.Context, int64) ([]byte, error) { return raw, nil }}
}

// leaf is pointed above and below, with a light rib: x and y go from -1 to 1.
func leaf(x, y float64) uint8 {
	if math.Abs(x) < 0.8*(1-y*y) && math.Abs(x) > 0.08 {
		return 0
	}
	return 240
}

// post is one dark line upright in the middle, with a grey edge at its right.
func post(x, _ float64) uint8 {
	switch {
	case math.Abs(x) < 0.04:
		return 0
	case x > 0 && x < 0.12:
		return 150
	}
	return 240
}

func picture(t *testing.T, width, height int, light func(x, y float64) uint8) []byte {
	m := image.NewGray(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			m.SetGray(x, y, color.Gray{Y: light(2*(float64(x)+0.5)/float64(width)-1, 2*(float64(y)+0.5)/float64(height)-1)})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
