package store

import (
	"context"
	"embed"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

//go:embed migrations/*.sql
var migrations embed.FS

// migrate brings the schema up to date. Two processes that try at once on
// PostgreSQL wait for each other.
func (db *DB) migrate(ctx context.Context) error {
	p, err := db.migrator()
	if err != nil {
		return err
	}
	have, newest, err := p.GetVersions(ctx)
	if err != nil {
		return err
	}
	if have > newest {
		return newerSchema(have, newest)
	}
	_, err = p.Up(ctx)
	return err
}

func newerSchema(have, newest int64) error {
	return fmt.Errorf("the database has schema %d and this weftroom knows only %d: a newer weftroom has used it", have, newest)
}

func (db *DB) migrator() (*goose.Provider, error) {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return nil, err
	}
	dialect, options := goose.DialectSQLite3, []goose.ProviderOption{
		goose.WithLogger(goose.NopLogger()),
		goose.WithDisableGlobalRegistry(true),
	}
	if db.dialect == PostgreSQL {
		locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, 60)) // seconds, tries
		if err != nil {
			return nil, err
		}
		dialect, options = goose.DialectPostgres, append(options, goose.WithSessionLocker(locker))
	}
	return goose.NewProvider(dialect, db.write, files, options...)
}
