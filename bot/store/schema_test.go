package store

import (
	"context"
	"database/sql"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"weftroom/bot"
	"weftroom/bot/store/storetest"
)

// TestFirstSchema holds what migration 00001 makes to what it made when the
// first databases were made by it. A change belongs into a new migration.
func TestFirstSchema(t *testing.T) {
	t.Run("SQLite", func(t *testing.T) {
		pool, err := sql.Open("sqlite", dsn(filepath.Join(t.TempDir(), "class.db")))
		if err != nil {
			t.Fatal(err)
		}
		pool.SetMaxOpenConns(1)
		held(t, &DB{dialect: SQLite, write: pool, read: pool}, "schema1.sqlite", `
			SELECT 'column', m.name, c.name, c.type || CASE c."notnull" WHEN 1 THEN ' not null' ELSE '' END || ' ' || COALESCE(c.dflt_value, '')
				|| CASE WHEN c.pk > 0 THEN ' key ' || c.pk ELSE '' END
				FROM sqlite_master m, pragma_table_info(m.name) c WHERE m.type = 'table' AND m.name NOT LIKE 'goose%'
				AND m.name NOT LIKE 'sqlite%'
			UNION ALL SELECT 'refers', m.name, f."from", f."table" || ' ' || f."to" || ' on delete ' || f.on_delete
				FROM sqlite_master m, pragma_foreign_key_list(m.name) f WHERE m.type = 'table'
			UNION ALL SELECT 'index', m.name, CASE i.origin WHEN 'c' THEN i.name ELSE i.origin END,
				(SELECT group_concat(x.name) FROM pragma_index_info(i.name) x)
				|| CASE i."unique" WHEN 1 THEN ' unique' ELSE '' END
				|| COALESCE(' ' || (SELECT substr(s.sql, instr(s.sql, 'WHERE')) FROM sqlite_master s WHERE s.name = i.name AND i.partial), '')
				FROM sqlite_master m, pragma_index_list(m.name) i WHERE m.type = 'table' AND m.name NOT LIKE 'goose%'
				AND m.name NOT LIKE 'sqlite%'
			UNION ALL SELECT m.type, m.tbl_name, m.name, '' FROM sqlite_master m WHERE m.type IN ('view', 'trigger')
			ORDER BY 2, 1, 3, 4`)
	})
	t.Run("PostgreSQL", func(t *testing.T) {
		c, err := pgx.ParseConfig(storetest.Postgres(t))
		if err != nil {
			t.Fatal(err)
		}
		pool := stdlib.OpenDB(*c)
		held(t, &DB{dialect: PostgreSQL, write: pool, read: pool}, "schema1.postgres", `
			SELECT 'column', table_name::text, column_name::text, data_type || CASE is_nullable WHEN 'NO' THEN ' not null' ELSE '' END || ' ' || COALESCE(column_default, '')
				FROM information_schema.columns WHERE table_schema = 'public' AND table_name NOT LIKE 'goose%'
			UNION ALL SELECT 'refers', conrelid::regclass::text, conname::text, pg_get_constraintdef(oid)
				FROM pg_constraint WHERE contype IN ('f', 'c') AND connamespace = 'public'::regnamespace
			UNION ALL SELECT 'index', tablename::text, indexname::text, indexdef
				FROM pg_indexes WHERE schemaname = 'public' AND tablename NOT LIKE 'goose%'
			UNION ALL SELECT 'other', '', relname::text, relkind::text
				FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind NOT IN ('r', 'i') AND relname NOT LIKE 'goose%'
			ORDER BY 2, 1, 3, 4`)
	})
}

func held(t *testing.T, db *DB, golden, query string) {
	ctx := context.Background()
	defer db.Close()
	p, err := db.migrator()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(ctx, 1); err != nil {
		t.Fatal(err)
	}
	lines, err := all(ctx, db, func(r row) (string, error) {
		cells := make([]string, 4)
		err := r.Scan(&cells[0], &cells[1], &cells[2], &cells[3])
		return strings.TrimSpace(strings.Join(cells, " ")), err
	}, query)
	if err != nil {
		t.Fatal(err)
	}
	if len(lines) < 100 {
		t.Fatalf("only %d lines: the test looks in the wrong place", len(lines))
	}
	want, err := os.ReadFile(filepath.Join("testdata", golden))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), strings.Join(lines, "\n")+"\n"); diff != "" {
		t.Errorf("the first schema has changed (-was +is); write a new migration instead:\n%s", diff)
	}
}

// TestOldBackup: a backup of the first schema comes back in the present one.
func TestOldBackup(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "old.db")
	pool, err := sql.Open("sqlite", dsn(path))
	if err != nil {
		t.Fatal(err)
	}
	pool.SetMaxOpenConns(1)
	old := &DB{dialect: SQLite, write: pool, read: pool, now: time.Now, log: slog.New(slog.DiscardHandler)}
	p, err := old.migrator()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(ctx, 1); err != nil {
		t.Fatal(err)
	}
	maya := bot.Account{Chat: "matrix", User: "@maya:example.org"}
	kept, err := old.makePerson(ctx, maya, "Maya")
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(old.setMetaTime(ctx, metaBackup, time.Now()), old.Close()); err != nil {
		t.Fatal(err)
	}
	db, err := OpenSQLite(ctx, filepath.Join(t.TempDir(), "class.db"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Restore(ctx, path); err != nil {
		t.Fatal(err)
	}
	if got, err := db.FindPerson(ctx, maya); err != nil || got != kept {
		t.Errorf("%+v, %v, want %+v", got, err, kept)
	}
}

// TestNewerSchema: a database that a newer weftroom has changed is left alone.
func TestNewerSchema(t *testing.T) {
	for _, where := range []struct {
		name string
		open func() string
	}{
		{"SQLite", func() string { return filepath.Join(t.TempDir(), "class.db") }},
		{"PostgreSQL", func() string { return storetest.Postgres(t) }},
	} {
		t.Run(where.name, func(t *testing.T) {
			at := where.open()
			db, err := OpenURL(t.Context(), at, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if _, err := db.write.ExecContext(t.Context(), `INSERT INTO goose_db_version (version_id, is_applied) VALUES (99999, true)`); err != nil {
				t.Fatal(err)
			}
			db.Close()
			_, err = OpenURL(t.Context(), at, Options{})
			if err == nil || !strings.Contains(err.Error(), "newer weftroom") {
				t.Errorf("opened again: %v", err)
			}
		})
	}
}
