// Package store keeps what a class knows in a database: SQLite in one file by
// default, PostgreSQL by URL when one machine is not enough.
//
// A *DB implements class.Store and bot.Ledger. Everything that it is told goes
// through one of two doors: Tx (and Once, which is a Tx with a request's id),
// or a single reading statement outside of any transaction. The context that Tx
// hands on carries the transaction; every method called with it takes part.
//
// One SQL text serves both databases, which asks this of it and of the schema:
//
//   - Placeholders are $1, $2 and so on, first used in that order, and numbered
//     by place: SQLite counts them as they come.
//   - Columns are TEXT or BIGINT, NOT NULL, "" or 0 for "not said". Times are
//     milliseconds since 1970 in UTC, 0 for none; truths are 0 or 1; what is
//     never asked for by its parts is JSON in a TEXT.
//   - Keys are texts chosen by us. There are no sequences, no defaults and no
//     triggers, so that a backup is nothing but rows.
//   - Child rows go with their parents by ON DELETE CASCADE.
//
// Both databases run our transactions as if one after the other: SQLite has one
// writer (BEGIN IMMEDIATE on one connection, and a file lock against a second
// process), PostgreSQL runs them SERIALIZABLE and has the one that would break
// the order run again.
package store
