package store

import (
	"context"
	"database/sql"
	"fmt"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"overhang/models"
)

// Snapshot reads with one view of the database: what others change meanwhile
// does not show.
func (s *Store) Snapshot(ctx context.Context, fn func(Query) error) error {
	return s.reads.WithContext(ctx).Transaction(func(db *gorm.DB) error { return fn(Query{db}) }, &sql.TxOptions{ReadOnly: true})
}

// After reads the next n records above a number, by number.
func After[T any](q Query, id int64, n int) ([]T, error) {
	var out []T
	if err := q.db.Where("id > ?", id).Order("id").Limit(n).Find(&out).Error; err != nil {
		return nil, fmt.Errorf("reading each %s: %w", noun(new(T)), err)
	}
	return out, nil
}

// Named is a record by the name that files give it.
type Named struct {
	ID    int64
	Name  string
	House int64 // that it belongs to; 0 where the table has none, or it is unknown
}

// NameTable is where the names of a kind of record stand.
type NameTable struct {
	table, name, house string
}

const (
	jobRef   = "(SELECT ref FROM jobs WHERE jobs.id = job_id)"
	jobHouse = "(SELECT house_id FROM jobs WHERE jobs.id = job_id)"

	building      = "(SELECT h.ref || '/' || s.name FROM structures s JOIN houses h ON h.id = s.house_id WHERE s.id = structure_id)"
	buildingHouse = "(SELECT house_id FROM structures WHERE structures.id = structure_id)"
)

// The tables whose records files name.
var (
	HouseNames    = NameTable{"houses", "ref", "id"}
	RoofNames     = NameTable{"roofs", "ref", "house_id"}
	JobNames      = NameTable{"jobs", "ref", "house_id"}
	WarrantyNames = NameTable{"warranties", "ref", "(SELECT house_id FROM roofs WHERE roofs.id = roof_id)"}
	CallbackNames = NameTable{"callbacks", "ref", "house_id"}
	ClaimNames    = NameTable{"claims", "ref", "(SELECT house_id FROM callbacks WHERE callbacks.id = callback_id)"}
	VisitNames    = NameTable{"visits", "ref", "house_id"}
	StormNames    = NameTable{"storms", "ref", "0"}
	ContactNames  = NameTable{"contacts", "ref", "0"}
	CoveringNames = NameTable{"coverings", "key", "0"}
	TermsNames    = NameTable{"terms", "key", "0"}
	CrewNames     = NameTable{"crews", "name", "0"}
	// What a job has is named by the job, and a detail or a slope by its house and building.
	LotNames         = NameTable{"lots", jobRef + " || '/' || number", jobHouse}
	SubcontractNames = NameTable{"subcontracts", jobRef + " || '/' || part || '/' || who", jobHouse}
	DetailNames      = NameTable{"details", building + " || '/' || name", buildingHouse}
	SlopeNames       = NameTable{"slopes", building + " || '/' || name", buildingHouse}
)

// ByName finds the records with the given names.
func (t NameTable) ByName(q Query, names []string) ([]Named, error) {
	return namedIn(q, t, t.name, names)
}

// ByID finds the records with the given numbers.
func (t NameTable) ByID(q Query, ids []int64) ([]Named, error) { return namedIn(q, t, "id", ids) }

func namedIn[V any](q Query, t NameTable, column string, values []V) ([]Named, error) {
	var out []Named
	statement := fmt.Sprintf("SELECT id, %s AS name, coalesce(%s, 0) AS house FROM %s WHERE %s IN ?", t.name, t.house, t.table, column)
	for start := 0; start < len(values); start += batch {
		part, err := Rows[Named](q, statement, values[start:min(start+batch, len(values))])
		if err != nil {
			return nil, fmt.Errorf("reading the names of %s: %w", t.table, err)
		}
		out = append(out, part...)
	}
	return out, nil
}

// UpdateAll is Update for many records of one kind, several hundred to a
// statement.
func UpdateAll[T any, P interface {
	*T
	models.Record
}](tx *Tx, recs []T) error {
	for start := 0; start < len(recs); start += batch {
		if err := updatePart[T, P](tx, recs[start:min(start+batch, len(recs))]); err != nil {
			return err
		}
	}
	return nil
}

func updatePart[T any, P interface {
	*T
	models.Record
}](tx *Tx, recs []T) error {
	ids := make([]int64, len(recs))
	for i := range recs {
		ids[i] = P(&recs[i]).Base().ID
	}
	kept, err := ListIn[T](tx.Query, "id", ids)
	if err != nil {
		return err
	}
	before := index[T, P](kept)
	var changed []T
	var entries []models.AuditEntry
	for i := range recs {
		rec := P(&recs[i])
		if err := rec.Validate(); err != nil {
			return err
		}
		key := rec.Base()
		was, found := before[key.ID]
		if !found {
			return models.Errorf(models.NotFound, "There is no such %s.", rec.Noun())
		}
		if P(&was).Base().Version != key.Version {
			return models.Errorf(models.Conflict, "Somebody else changed this %s meanwhile.", rec.Noun())
		}
		changes, err := tx.changes(P(&was), rec)
		if err != nil {
			return err
		}
		if changes == "" {
			continue
		}
		key.Version, key.CreatedAt, key.UpdatedAt = key.Version+1, P(&was).Base().CreatedAt, tx.now
		changed = append(changed, recs[i])
		entries = append(entries, models.AuditEntry{Record: rec.Noun(), RecordID: key.ID, Action: "changed", Changes: changes})
	}
	if len(changed) == 0 {
		return nil
	}
	replace := clause.OnConflict{Columns: []clause.Column{{Name: "id"}}, UpdateAll: true}
	if err := tx.db.Clauses(replace).Create(&changed).Error; err != nil {
		return writeError("changing", P(&changed[0]), err)
	}
	return tx.record(entries...)
}

// Imports reads the newest n files that were read in, newest first.
func Imports(q Query, n int) ([]models.Import, error) {
	return Rows[models.Import](q, "SELECT * FROM imports ORDER BY at DESC, id DESC LIMIT ?", n)
}
