package store

import (
	"context"

	"weftroom/bot/class"
)

const scheduleColumns = `s.id, s.class, s.number, s.spec, s.zone, s.text, s.to_chat, s.to_room, s.made_by, s.made, s.planned, s.ended`

func readSchedule(r row) (s class.Schedule, err error) {
	err = r.Scan(&s.ID, &s.Class, &s.Number, &s.Spec, &s.Zone, &s.Text, &s.To.Chat, &s.To.Room, &s.By, when(&s.Made), when(&s.Planned), when(&s.Ended))
	return s, err
}

// AddSchedule implements class.Schedules.
func (db *DB) AddSchedule(ctx context.Context, s class.Schedule) (class.Schedule, error) {
	err := db.whole(ctx, func(ctx context.Context) (err error) {
		s.ID = newID()
		s.Number, err = one(ctx, db, readNumber, `UPDATE classes SET last_schedule = last_schedule + 1 WHERE id = $1 RETURNING last_schedule`, s.Class)
		if err != nil {
			return err
		}
		_, err = db.exec(ctx, `INSERT INTO schedules (id, class, number, spec, zone, text, to_chat, to_room, made_by, made, planned, ended)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)`,
			s.ID, s.Class, s.Number, s.Spec, s.Zone, s.Text, s.To.Chat, s.To.Room, s.By, s.Made, s.Planned, s.Ended)
		if err != nil {
			return err
		}
		s, err = one(ctx, db, readSchedule, `SELECT `+scheduleColumns+` FROM schedules s WHERE s.id = $1`, s.ID)
		return err
	})
	if err != nil {
		return class.Schedule{}, err
	}
	return s, nil
}

// SchedulesOf implements class.Schedules, by number.
func (db *DB) SchedulesOf(ctx context.Context, id class.ID) ([]class.Schedule, error) {
	return all(ctx, db, readSchedule, `SELECT `+scheduleColumns+` FROM schedules s WHERE s.class = $1 AND s.ended = 0 ORDER BY s.number`, id)
}

// AllSchedules implements class.Schedules, by class and number.
func (db *DB) AllSchedules(ctx context.Context) ([]class.Schedule, error) {
	return all(ctx, db, readSchedule, `SELECT `+scheduleColumns+` FROM schedules s JOIN classes c ON c.id = s.class
		WHERE s.ended = 0 AND c.closed = 0 ORDER BY s.class, s.number`)
}

// PutSchedule implements class.Schedules. Its class and number stay as they are.
func (db *DB) PutSchedule(ctx context.Context, s class.Schedule) error {
	return db.replace(ctx, `UPDATE schedules SET spec = $2, zone = $3, text = $4, to_chat = $5, to_room = $6, made_by = $7,
		made = $8, planned = $9, ended = $10 WHERE id = $1`,
		s.ID, s.Spec, s.Zone, s.Text, s.To.Chat, s.To.Room, s.By, s.Made, s.Planned, s.Ended)
}
