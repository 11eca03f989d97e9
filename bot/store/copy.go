package store

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// fill replaces every row of db by those of from, in one transaction. Both have
// the same schema.
func (db *DB) fill(ctx context.Context, from *DB) error {
	tables, err := db.tables(ctx, from)
	if err != nil {
		return err
	}
	return db.Tx(ctx, func(ctx context.Context) error {
		for _, t := range slices.Backward(tables) {
			if _, err := db.exec(ctx, `DELETE FROM `+t); err != nil {
				return err
			}
		}
		for _, t := range tables {
			if err := db.fillTable(ctx, from, t); err != nil {
				return fmt.Errorf("table %s: %w", t, err)
			}
		}
		return nil
	})
}

// tables are all of ours, each after those that it refers to. SQLite is asked,
// whichever of the two it is: a backup is one.
func (db *DB) tables(ctx context.Context, other *DB) ([]string, error) {
	lite := db
	if db.dialect != SQLite {
		lite = other
	}
	names, err := all(ctx, lite, readText, `SELECT name FROM sqlite_master
		WHERE type = 'table' AND name NOT LIKE 'sqlite%' AND name NOT LIKE 'goose%' ORDER BY name`)
	if err != nil {
		return nil, err
	}
	var ordered []string
	var visit func(name string) error
	visit = func(name string) error {
		if slices.Contains(ordered, name) {
			return nil
		}
		parents, err := all(ctx, lite, readText, `SELECT "table" FROM pragma_foreign_key_list($1)`, name)
		if err != nil {
			return err
		}
		for _, p := range parents {
			if err := visit(p); err != nil {
				return err
			}
		}
		ordered = append(ordered, name)
		return nil
	}
	for _, n := range names {
		if err := visit(n); err != nil {
			return nil, err
		}
	}
	return ordered, nil
}

func (db *DB) fillTable(ctx context.Context, from *DB, table string) error {
	rows, err := from.conn(ctx).QueryContext(ctx, `SELECT * FROM `+table)
	if err != nil {
		return err
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return err
	}
	insert := insertInto(table, columns)
	values, into := make([]any, len(columns)), make([]any, len(columns))
	for i := range values {
		into[i] = &values[i]
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return err
		}
		if _, err := db.exec(ctx, insert, values...); err != nil {
			return err
		}
	}
	return rows.Err()
}

func insertInto(table string, columns []string) string {
	holders := make([]string, len(columns))
	for i := range holders {
		holders[i] = "$" + strconv.Itoa(i+1)
	}
	return fmt.Sprintf(`INSERT INTO %s (%s) VALUES (%s)`, table, strings.Join(columns, ", "), strings.Join(holders, ", "))
}
