// Package migrations holds the numbered SQL that builds the database and brings
// an older one up to date, a folder a dialect.
//
// A migration is never changed once it has landed: a later one mends it. The
// files are read by package store alone.
package migrations

import "embed"

// SQLite holds the migrations for SQLite, under the folder "sqlite".
//
//go:embed sqlite/*.sql
var SQLite embed.FS
