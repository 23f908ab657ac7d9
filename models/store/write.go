package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/schema"

	"overhang/models"
)

// Tx is one write transaction. It reads as Query does, and sees its own writes.
type Tx struct {
	Query
	by  By
	now time.Time
}

// Now is the moment of the transaction, in UTC.
func (tx *Tx) Now() time.Time { return tx.now }

// Create checks a new record, writes it with an audit entry, and sets its
// number.
func (tx *Tx) Create(rec models.Record) error {
	if err := tx.prepare(rec); err != nil {
		return err
	}
	if err := tx.db.Create(rec).Error; err != nil {
		return writeError("adding", rec, err)
	}
	changes, err := tx.changes(nil, rec)
	if err != nil {
		return err
	}
	return tx.record(models.AuditEntry{Record: rec.Noun(), RecordID: rec.Base().ID, Action: "added", Changes: changes})
}

// CreateAll is Create for many records of one kind, several hundred to a
// statement.
func CreateAll[T any, P interface {
	*T
	models.Record
}](tx *Tx, recs []T) error {
	entries := make([]models.AuditEntry, 0, batch)
	for start := 0; start < len(recs); start += batch {
		part := recs[start:min(start+batch, len(recs))]
		for i := range part {
			if err := tx.prepare(P(&part[i])); err != nil {
				return err
			}
		}
		if err := tx.db.Create(&part).Error; err != nil {
			return writeError("adding", P(&part[0]), err)
		}
		entries = entries[:0]
		for i := range part {
			rec := P(&part[i])
			changes, err := tx.changes(nil, rec)
			if err != nil {
				return err
			}
			entries = append(entries, models.AuditEntry{Record: rec.Noun(), RecordID: rec.Base().ID, Action: "added", Changes: changes})
		}
		if err := tx.record(entries...); err != nil {
			return err
		}
	}
	return nil
}

func (tx *Tx) prepare(rec models.Record) error {
	if err := rec.Validate(); err != nil {
		return err
	}
	k := rec.Base()
	k.Version = 1
	if k.CreatedAt.IsZero() {
		k.CreatedAt = tx.now
	}
	k.UpdatedAt = tx.now
	return nil
}

// Update checks a changed record and writes it with an audit entry of what
// changed. The record's version must be the one it was read at: when somebody
// else has changed it since, nothing is written and a Conflict is returned. A
// record that is the same as the kept one is left alone.
func (tx *Tx) Update(rec models.Record) error { return tx.update(rec, "") }

// Correct is Update of what is not to change but was written down wrongly. Why
// stands in the audit entry, under "why".
func (tx *Tx) Correct(rec models.Record, why string) error {
	if strings.TrimSpace(why) == "" {
		return models.FieldErrorf("why", "", "a correction says what was wrong")
	}
	return tx.update(rec, why)
}

func (tx *Tx) update(rec models.Record, why string) error {
	if err := rec.Validate(); err != nil {
		return err
	}
	before := reflect.New(reflect.TypeOf(rec).Elem()).Interface().(models.Record)
	key := rec.Base()
	err := tx.db.Where("id = ?", key.ID).Take(before).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return models.Errorf(models.NotFound, "There is no such %s.", rec.Noun())
	}
	if err != nil {
		return fmt.Errorf("reading a %s before changing it: %w", rec.Noun(), err)
	}
	kept := before.Base()
	if kept.Version != key.Version {
		return models.Errorf(models.Conflict,
			"Somebody else changed this %s while you had it open. What you typed is still here: compare it with what is kept now, then save again.", rec.Noun())
	}
	changes, err := tx.changes(before, rec)
	if err != nil || changes == "" {
		return err
	}
	if why != "" {
		if changes, err = because(changes, why); err != nil {
			return fmt.Errorf("writing the audit trail of a %s: %w", rec.Noun(), err)
		}
	}
	key.Version, key.CreatedAt, key.UpdatedAt = kept.Version+1, kept.CreatedAt, tx.now
	if err := tx.db.Select("*").Where("id = ?", key.ID).Updates(rec).Error; err != nil {
		key.Version = kept.Version
		return writeError("changing", rec, err)
	}
	return tx.record(models.AuditEntry{Record: rec.Noun(), RecordID: key.ID, Action: "changed", Changes: changes})
}

// Put writes rows that are not records: links, sessions, runs. It adds each or
// replaces the one with the same key.
func (tx *Tx) Put(row any) error {
	if err := tx.db.Save(row).Error; err != nil {
		return writeError("keeping", row, err)
	}
	return nil
}

// PutAll adds many rows that are not records, several hundred to a statement.
func PutAll[T any](tx *Tx, rows []T) error {
	if len(rows) == 0 {
		return nil
	}
	if err := tx.db.CreateInBatches(&rows, batch).Error; err != nil {
		return writeError("keeping", new(T), err)
	}
	return nil
}

// Linked writes into the trail of a record what it was linked to by rows that are
// not records: it has changed by that, though no column of its own has.
func (tx *Tx) Linked(rec models.Record, what string, names ...string) error {
	changes, err := json.Marshal(map[string][2]any{what: {nil, strings.Join(names, ", ")}})
	if err != nil {
		return fmt.Errorf("writing the audit trail of a %s: %w", rec.Noun(), err)
	}
	return tx.record(models.AuditEntry{Record: rec.Noun(), RecordID: rec.Base().ID, Action: "changed", Changes: string(changes)})
}

// Exec runs a statement of our own and gives the number of rows it touched.
// It is for rows that carry no audit trail.
func (tx *Tx) Exec(statement string, args ...any) (int, error) {
	done := tx.db.Exec(statement, args...)
	if done.Error != nil {
		return 0, writeError("changing", nil, done.Error)
	}
	return int(done.RowsAffected), nil
}

func (tx *Tx) record(entries ...models.AuditEntry) error {
	for i := range entries {
		entries[i].At, entries[i].PersonID, entries[i].By = tx.now, tx.by.PersonID, tx.by.Name
	}
	if err := tx.db.Create(&entries).Error; err != nil {
		return fmt.Errorf("writing the audit trail: %w", err)
	}
	return nil
}

// secret columns are named in the audit trail when they change, but never
// written there.
var secret = map[string]bool{"password_hash": true}

// unaudited columns change with every write.
var unaudited = map[string]bool{"id": true, "version": true, "created_at": true, "updated_at": true, "folded": true}

// changes writes what differs between two states of a record as JSON, column to
// [before, after]. Before is nil for a new record, of which the known columns
// are written. It is empty when nothing differs.
func (tx *Tx) changes(before, after models.Record) (string, error) {
	stmt := &gorm.Statement{DB: tx.db}
	if err := stmt.Parse(after); err != nil {
		return "", fmt.Errorf("reading the columns of a %s: %w", after.Noun(), err)
	}
	differs := map[string][2]any{}
	for _, f := range stmt.Schema.Fields {
		if unaudited[f.DBName] || f.DBName == "" {
			continue
		}
		now, unknown := column(tx.db.Statement.Context, f, after)
		var was any
		if before != nil {
			was, _ = column(tx.db.Statement.Context, f, before)
		} else if unknown {
			continue
		}
		if reflect.DeepEqual(was, now) {
			continue
		}
		if secret[f.DBName] {
			was, now = "kept secret", "kept secret"
		}
		differs[f.DBName] = [2]any{was, now}
	}
	if before != nil && len(differs) == 0 {
		return "", nil
	}
	b, err := json.Marshal(differs)
	if err != nil {
		return "", fmt.Errorf("writing the audit trail of a %s: %w", after.Noun(), err)
	}
	return string(b), nil
}

// because adds to what changed why it did.
func because(changes, why string) (string, error) {
	differs := map[string][2]json.RawMessage{}
	if err := json.Unmarshal([]byte(changes), &differs); err != nil {
		return "", err
	}
	said, err := json.Marshal(why)
	if err != nil {
		return "", err
	}
	differs["why"] = [2]json.RawMessage{json.RawMessage("null"), said}
	b, err := json.Marshal(differs)
	return string(b), err
}

// column gives a field as it compares and reads best, and whether it is
// unknown.
func column(ctx context.Context, f *schema.Field, rec models.Record) (any, bool) {
	v, zero := f.ValueOf(ctx, reflect.ValueOf(rec).Elem())
	rv := reflect.ValueOf(v)
	if rv.Kind() == reflect.Pointer {
		if rv.IsNil() {
			return nil, true
		}
		v = rv.Elem().Interface()
		zero = false
	}
	if t, is := v.(time.Time); is {
		v = t.UTC().Format(time.RFC3339Nano)
	}
	if rv.Kind() == reflect.Slice && rv.Len() == 0 {
		return nil, true
	}
	return v, zero
}

// writeError turns what the database refused into what a person can be told.
func writeError(doing string, rec any, err error) error {
	name := noun(rec)
	switch {
	case errors.Is(err, gorm.ErrDuplicatedKey):
		return &models.Error{Code: models.Conflict, Message: fmt.Sprintf("There is already such a %s.", name)}
	case errors.Is(err, gorm.ErrForeignKeyViolated):
		return &models.Error{Code: models.Invalid, Message: fmt.Sprintf("This %s names another record that is not there.", name)}
	}
	return fmt.Errorf("%s a %s: %w", doing, name, err)
}
