package store_test

import (
	"context"
	"testing"

	"github.com/jackc/pgx/v5"

	"weftroom/bot/store/storetest"
)

func TestConformance(t *testing.T) {
	t.Run("SQLite", func(t *testing.T) {
		storetest.Run(t, func(t *testing.T) storetest.Store { return openSQLite(t) })
	})
	t.Run("PostgreSQL", func(t *testing.T) {
		// One database, emptied each time: to make one takes half a second.
		url := storetest.Postgres(t)
		db := opened(t, url)
		storetest.Run(t, func(t *testing.T) storetest.Store {
			emptyPostgres(t, url)
			return db
		})
	})
}

func emptyPostgres(t *testing.T, url string) {
	ctx := context.Background()
	c, err := pgx.Connect(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(ctx)
	_, err = c.Exec(ctx, `DO $$ BEGIN EXECUTE (
		SELECT 'TRUNCATE ' || string_agg(quote_ident(tablename), ', ') FROM pg_tables
		WHERE schemaname = 'public' AND tablename <> 'goose_db_version'); END $$`)
	if err != nil {
		t.Fatal(err)
	}
}
