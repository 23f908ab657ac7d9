// Package store is the one door to the database: opening and upgrading it,
// reading, and writing in transactions. It is the only package that knows gorm.
//
// There are two pools on one SQLite file in WAL mode. Reads go through Query
// and may run side by side. Writes go through Store.Write, one at a time: its
// single connection starts every transaction at once as a writer
// (_txlock=immediate), so that a transaction that reads and then writes cannot
// fail for having read too early, and commits with synchronous=FULL, so that
// what a person was told is saved survives a loss of power.
//
// Settings stand in the connection string, where they hold for every pooled
// connection. Moments are written in UTC.
package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"time"

	_ "github.com/mattn/go-sqlite3" // the driver "sqlite3"
	"github.com/pressly/goose/v3"
	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"

	"overhang/migrations"
	"overhang/models"
)

// ErrNewerSchema is returned by Open for a database that a newer overhang has
// written.
var ErrNewerSchema = errors.New("the database was written by a newer overhang; run that one, or restore an older copy")

// Store is an open database.
type Store struct {
	// Now tells the time of a write. Tests set it.
	Now func() time.Time

	path   string
	reads  *gorm.DB
	writes *gorm.DB
	pools  [2]*sql.DB
}

// Open opens the SQLite file at path, makes it when it is not there, and brings
// its schema up to date. A newer schema is refused with ErrNewerSchema.
func Open(ctx context.Context, path string) (*Store, error) {
	s, err := open(path)
	if err != nil {
		return nil, fmt.Errorf("opening the database %s: %w", path, err)
	}
	if err := s.migrate(ctx); err != nil {
		s.Close()
		return nil, fmt.Errorf("opening the database %s: %w", path, err)
	}
	return s, nil
}

func open(path string) (*Store, error) {
	if path == "" {
		return nil, errors.New("no file is named")
	}
	if dir := filepath.Dir(path); dir != "." {
		if err := os.MkdirAll(dir, 0o750); err != nil {
			return nil, err
		}
	}
	s := &Store{Now: time.Now, path: path}
	for i, options := range []string{
		"&_txlock=immediate&_synchronous=FULL&_cache_size=-64000", // writes
		"&_query_only=1&_synchronous=NORMAL&_cache_size=-32000",   // reads
	} {
		dsn := (&url.URL{Scheme: "file", Opaque: url.PathEscape(path)}).String() +
			"?_busy_timeout=5000&_journal_mode=WAL&_foreign_keys=1" + options
		pool, err := sql.Open("sqlite3", dsn)
		if err != nil {
			return nil, err
		}
		s.pools[i] = pool
		if err := pool.Ping(); err != nil {
			s.Close()
			return nil, err
		}
	}
	s.pools[0].SetMaxOpenConns(1)
	s.pools[1].SetMaxOpenConns(8)
	for i, target := range []**gorm.DB{&s.writes, &s.reads} {
		db, err := gorm.Open(sqlite.Dialector{DriverName: "sqlite3", Conn: s.pools[i]}, &gorm.Config{
			SkipDefaultTransaction: true,
			// In a transaction a kept statement is prepared again each time and held until
			// the transaction ends: a large one would hold gigabytes.
			PrepareStmt:    target == &s.reads,
			TranslateError: true,
			NowFunc:        func() time.Time { return s.Now().UTC() },
			Logger:         logger.Discard,
		})
		if err != nil {
			s.Close()
			return nil, err
		}
		*target = db
	}
	return s, nil
}

// Path is the database's file.
func (s *Store) Path() string { return s.path }

// Close closes the database.
func (s *Store) Close() error {
	var errs []error
	for _, pool := range s.pools {
		if pool != nil {
			errs = append(errs, pool.Close())
		}
	}
	return errors.Join(errs...)
}

func (s *Store) migrate(ctx context.Context) error {
	files, err := fs.Sub(migrations.SQLite, "sqlite")
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, s.pools[0], files, goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return fmt.Errorf("reading the migrations: %w", err)
	}
	current, newest, err := p.GetVersions(ctx)
	if err != nil {
		return fmt.Errorf("reading the schema's version: %w", err)
	}
	if current > newest {
		return ErrNewerSchema
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("bringing the schema from version %d to %d: %w", current, newest, err)
	}
	return nil
}

// Backup writes a whole and consistent copy of the database to a new file,
// while others go on reading and writing. Copying the file itself would miss
// what still stands in the write-ahead log.
func (s *Store) Backup(ctx context.Context, path string) error {
	if _, err := os.Stat(path); err == nil {
		return models.Errorf(models.Conflict, "the file %s is there already", path)
	}
	if _, err := s.pools[0].ExecContext(ctx, "VACUUM INTO ?", path); err != nil {
		return fmt.Errorf("copying the database to %s: %w", path, err)
	}
	return nil
}

// Query reads the database. Its methods stand in the file of their noun. The
// zero value is not usable; get one from Store.Query, or inside a transaction
// from Tx.
type Query struct{ db *gorm.DB }

// Query starts reading. What it reads may be changed by others between two
// reads; where two must agree, read inside Write.
func (s *Store) Query(ctx context.Context) Query { return Query{s.reads.WithContext(ctx)} }

// By is who makes a change, for the audit trail.
type By struct {
	PersonID *int64
	Name     string
}

// Write runs fn in one transaction: all of it is saved, or none.
func (s *Store) Write(ctx context.Context, by By, fn func(*Tx) error) error {
	return s.writes.WithContext(ctx).Transaction(func(db *gorm.DB) error {
		return fn(&Tx{Query: Query{db}, by: by, now: s.Now().UTC()})
	})
}

// Page is which part of a listing to read.
type Page struct {
	Number int // from 1
	Size   int
}

// Bounds gives the offset and limit of the page; a page that is not set is the
// first fifty.
func (p Page) Bounds() (offset, limit int) {
	if p.Size <= 0 || p.Size > 500 {
		p.Size = 50
	}
	return (max(p.Number, 1) - 1) * p.Size, p.Size
}

// batch is how many rows or ids one statement names; SQLite allows 32,766
// variables in one.
const batch = 500

// Get reads the record with that number.
func Get[T any](q Query, id int64) (*T, error) { return First[T](q, "id = ?", id) }

// First reads the first record for which cond holds, by number.
func First[T any](q Query, cond string, args ...any) (*T, error) {
	rec := new(T)
	err := q.db.Where(cond, args...).Order("id").Take(rec).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, models.Errorf(models.NotFound, "There is no such %s.", noun(rec))
	}
	if err != nil {
		return nil, fmt.Errorf("reading a %s: %w", noun(rec), err)
	}
	return rec, nil
}

// List reads all records for which cond holds, in the given order. An empty
// cond reads the whole table.
func List[T any](q Query, order, cond string, args ...any) ([]T, error) {
	var out []T
	db := q.db
	if cond != "" {
		db = db.Where(cond, args...)
	}
	if err := db.Order(order).Find(&out).Error; err != nil {
		return nil, fmt.Errorf("reading each %s: %w", noun(new(T)), err)
	}
	return out, nil
}

// ListIn reads all records whose column holds one of the values, however many
// they are, in the order they were written within each batch of values.
func ListIn[T, V any](q Query, column string, values []V) ([]T, error) {
	var out []T
	for start := 0; start < len(values); start += batch {
		part, err := List[T](q, "rowid", column+" IN ?", values[start:min(start+batch, len(values))])
		if err != nil {
			return nil, err
		}
		out = append(out, part...)
	}
	return out, nil
}

// Count counts the records for which cond holds.
func Count[T any](q Query, cond string, args ...any) (int, error) {
	var n int64
	db := q.db.Model(new(T))
	if cond != "" {
		db = db.Where(cond, args...)
	}
	if err := db.Count(&n).Error; err != nil {
		return 0, fmt.Errorf("counting each %s: %w", noun(new(T)), err)
	}
	return int(n), nil
}

// Rows reads the rows of a statement of our own into structs whose fields are
// named after its columns.
func Rows[T any](q Query, statement string, args ...any) ([]T, error) {
	var out []T
	if err := q.db.Raw(statement, args...).Scan(&out).Error; err != nil {
		return nil, fmt.Errorf("reading rows: %w", err)
	}
	return out, nil
}

func noun(rec any) string {
	if r, is := rec.(models.Record); is {
		return r.Noun()
	}
	return "record"
}

// Highest gives the highest number that a record of the kind has, or 0.
func Highest[T any](q Query) (int64, error) {
	var n int64
	if err := q.db.Model(new(T)).Select("coalesce(max(id), 0)").Scan(&n).Error; err != nil {
		return 0, fmt.Errorf("reading the highest number of a %s: %w", noun(new(T)), err)
	}
	return n, nil
}

// Revision is a number that rises with every change of a record, in this
// process or another. What was computed at a revision holds until it rises.
func Revision(q Query) (int64, error) { return Highest[models.AuditEntry](q) }

// Changed is a record that changed, by its kind as the audit trail names it.
type Changed struct {
	Record   string
	RecordID int64
}

// ChangedSince lists the records that changed after a revision, each once.
func ChangedSince(q Query, revision int64) ([]Changed, error) {
	return Rows[Changed](q, "SELECT DISTINCT record, record_id FROM audit_entries WHERE id > ?", revision)
}
