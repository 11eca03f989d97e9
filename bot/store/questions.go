package store

import (
	"context"

	"weftroom/bot/class"
)

const questionColumns = `q.id, q.class, q.person, q.number, q.text, q.asked, q.done`

func readQuestion(r row) (q class.Question, err error) {
	err = r.Scan(&q.ID, &q.Class, &q.Person, &q.Number, &q.Text, when(&q.Asked), when(&q.Done))
	return q, err
}

// AddQuestion implements class.Questions.
func (db *DB) AddQuestion(ctx context.Context, q class.Question) (class.Question, error) {
	err := db.whole(ctx, func(ctx context.Context) (err error) {
		if _, err := db.Person(ctx, q.Person); err != nil {
			return err
		}
		q.ID = newID()
		q.Number, err = one(ctx, db, readNumber, `UPDATE classes SET last_question = last_question + 1 WHERE id = $1 RETURNING last_question`, q.Class)
		if err != nil {
			return err
		}
		_, err = db.exec(ctx, `INSERT INTO questions (id, class, person, number, text, asked, done) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
			q.ID, q.Class, q.Person, q.Number, q.Text, q.Asked, q.Done)
		if err != nil {
			return err
		}
		q, err = db.QuestionNumber(ctx, q.Class, q.Number)
		return err
	})
	if err != nil {
		return class.Question{}, err
	}
	return q, nil
}

// QuestionsOf implements class.Questions: those that wait, or all, by number.
func (db *DB) QuestionsOf(ctx context.Context, id class.ID, everything bool) ([]class.Question, error) {
	if everything {
		return all(ctx, db, readQuestion, `SELECT `+questionColumns+` FROM questions q WHERE q.class = $1 ORDER BY q.number`, id)
	}
	return all(ctx, db, readQuestion, `SELECT `+questionColumns+` FROM questions q WHERE q.class = $1 AND q.done = 0 ORDER BY q.number`, id)
}

// QuestionNumber implements class.Questions.
func (db *DB) QuestionNumber(ctx context.Context, id class.ID, number int) (class.Question, error) {
	return one(ctx, db, readQuestion, `SELECT `+questionColumns+` FROM questions q WHERE q.class = $1 AND q.number = $2`, id, number)
}

// PutQuestion implements class.Questions. Its class and number stay as they are.
func (db *DB) PutQuestion(ctx context.Context, q class.Question) error {
	return db.replace(ctx, `UPDATE questions SET text = $2, asked = $3, done = $4 WHERE id = $1`, q.ID, q.Text, q.Asked, q.Done)
}

// QuestionsBy implements class.Questions, by the time of asking.
func (db *DB) QuestionsBy(ctx context.Context, person class.ID) ([]class.Question, error) {
	return all(ctx, db, readQuestion, `SELECT `+questionColumns+` FROM questions q WHERE q.person = $1 ORDER BY q.asked, q.class, q.number`, person)
}
