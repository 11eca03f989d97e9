package lesson

import (
	"context"

	"weftroom/bot"
	"weftroom/bot/timetable"
)

// Render is what a post says, read when it is sent. It implements
// timetable.Render and blocks on storage.
func (d *Desk) Render(ctx context.Context, p timetable.Post) (bot.Reply, timetable.Verdict, error) {
	_, verdict, err := timetable.ReadTruth(ctx, d.Store, p)
	return bot.Reply{Title: string(p.Kind)}, verdict, err
}

// Refused is what is posted when a member takes no direct messages. It
// implements timetable.Options.Refused and blocks on storage.
func (d *Desk) Refused(ctx context.Context, p timetable.Post) ([]timetable.Post, error) {
	return timetable.RefusedNote(ctx, d.Store, p, d.Now())
}
