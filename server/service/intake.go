package service

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/intake"
	"overhang/models/store"
)

// chunk is how many rows are looked up and written at a time.
const chunk = 1000

// errNotWritten rolls back what a file would have written.
var errNotWritten = errors.New("nothing is written")

// Import reads a file of one of intake.Kinds. The file is checked whole, and
// then written in one transaction or not at all; what is wrong with it stands
// in the report, and an error is returned only when it could not be checked.
// With dryRun it is checked in the same way and nothing is written. Checking
// and writing see no change of anybody else, so that two imports at once come
// out as one after the other. Progress, which may be nil, is told the rows done.
func (s *Service) Import(ctx context.Context, who Actor, kind, fileName string, r io.Reader, dryRun bool, progress func(done, total int)) (intake.Report, error) {
	report := intake.Report{Kind: kind, FileName: fileName, DryRun: dryRun}
	if err := who.need(Import); err != nil {
		return report, err
	}
	door := doorOf(kind)
	if door == nil {
		return report, intake.UnknownKind(kind)
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return report, err
	}
	// The file is laid down first: nobody waits for the database while it comes
	// in over a slow line.
	file, err := os.CreateTemp("", "overhang-intake-*.csv")
	if err != nil {
		return report, fmt.Errorf("laying down the file %s: %w", fileName, err)
	}
	defer os.Remove(file.Name())
	defer file.Close()
	sum := sha256.New()
	if _, err := io.Copy(io.MultiWriter(file, sum), io.LimitReader(r, intake.MaxFile+1)); err != nil {
		return report, fmt.Errorf("laying down the file %s: %w", fileName, err)
	}
	report.SHA256 = hex.EncodeToString(sum.Sum(nil))
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return report, fmt.Errorf("reading the file %s: %w", fileName, err)
	}
	total, err := intake.CountRows(file)
	if err == nil {
		_, err = file.Seek(0, io.SeekStart)
	}
	if err != nil {
		return report, fmt.Errorf("reading the file %s: %w", fileName, err)
	}
	if progress == nil {
		progress = func(int, int) {}
	}
	checked := report
	err = s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		report = checked
		w := newWork(tx.Query, set.Branch.ID)
		w.tx, w.report, w.seesMoney, w.today = tx, &report, who.May(SeeMoney), s.Today(set)
		if err := door.read(ctx, w, file, func(done int) { progress(done, total) }); err != nil {
			return err
		}
		if !report.OK() || dryRun {
			return errNotWritten
		}
		by := who.By()
		return tx.Put(&models.Import{At: tx.Now(), PersonID: by.PersonID, By: by.Name, Kind: kind, FileName: fileName, SHA256: report.SHA256,
			New: report.New, Changed: report.Changed, Unchanged: report.Same})
	})
	report.Written = err == nil
	if err != nil && !errors.Is(err, errNotWritten) {
		return report, fmt.Errorf("reading in %s as %s: %w", fileName, kind, err)
	}
	return report, nil
}

// exportNeeds is what somebody must be allowed to see, besides exporting, to
// have a kind of file.
var exportNeeds = map[string][]Permission{
	"coverings": {SeeRoofs}, "terms": {SeePromises}, "houses": {SeeRoofs, SeeContacts}, "contacts": {SeeContacts},
	"holdings": {SeeRoofs, SeeContacts}, "structures": {SeeRoofs}, "roofs": {SeeRoofs},
	"attics": {SeeRoofs}, "slopes": {SeeRoofs}, "vents": {SeeRoofs}, "gutters": {SeeRoofs}, "details": {SeeRoofs}, "jobs": {SeeRoofs},
	"warranties": {SeePromises}, "storms": {SeeRoofs}, "callbacks": {SeeCallbacks}, "costs": {SeeCallbacks, SeeMoney},
	"claims": {SeeCallbacks, SeeMoney}, "callback_steps": {SeeCallbacks, SeeMoney}, "calls": {SeeCallbacks, SeeContacts},
	"visits": {SeeVisits}, "findings": {SeeVisits}, "watches": {SeeRoofs},
}

// Export writes all records of a kind, in the branch's units, as a file that
// Import takes back. Columns of money, and who rang about a callback, are left out
// for those who may not see them; other kinds that speak of contacts are
// refused to those.
func (s *Service) Export(ctx context.Context, who Actor, kind string, w io.Writer) error {
	if err := who.need(Export); err != nil {
		return err
	}
	door := doorOf(kind)
	if door == nil {
		return intake.UnknownKind(kind)
	}
	for _, p := range exportNeeds[kind] {
		if err := who.need(p); err != nil {
			return err
		}
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	err = s.Store.Snapshot(ctx, func(q store.Query) error {
		return door.write(newWork(q, set.Branch.ID), w, set.Branch.Units, who.May(SeeMoney), who.May(SeeContacts))
	})
	if err != nil {
		return fmt.Errorf("writing a file of %s: %w", kind, err)
	}
	return nil
}

// MayExport says whether the actor may have a kind of file.
func (a Actor) MayExport(kind string) bool {
	needs, found := exportNeeds[kind]
	return found && a.May(Export) && !slices.ContainsFunc(needs, func(p Permission) bool { return !a.May(p) })
}

// door is a kind of file, whatever its rows are.
type door interface {
	name() string
	read(ctx context.Context, w *work, file io.Reader, progress func(done int)) error
	write(w *work, to io.Writer, system units.System, withMoney, withContacts bool) error
}

func doorOf(kind string) door {
	for _, d := range doors {
		if d.name() == kind {
			return d
		}
	}
	return nil
}

// room is a kind of file with rows of type T: how its records are found, tied
// to others and kept.
type room[T any] struct {
	sheet *intake.Sheet[T]
	// load gives the kept rows that the lines may speak of.
	load func(w *work, lines []*intake.Line[T]) ([]*T, error)
	// prepare readies a row, kept or new, for what its line says; it may be nil.
	prepare func(w *work, line *intake.Line[T], t *T)
	// link turns the names in new and changed rows into numbers, and refuses
	// those that are not kept.
	link func(w *work, rows []row[T]) error
	// save writes new and changed rows.
	save func(w *work, rows []row[T]) error
	// pages gives all rows, some at a time.
	pages func(w *work, fn func([]*T) error) error
	// itself names the row of the same kind that a line speaks of; it may be nil.
	itself func(*intake.Line[T]) string
}

// row is one that is new or changed.
type row[T any] struct {
	line *intake.Line[T]
	t    *T
	new  bool
}

func (r *room[T]) name() string { return r.sheet.Name() }

func (r *room[T]) read(ctx context.Context, w *work, file io.Reader, progress func(done int)) error {
	var broken *intake.FileError
	rows, err := r.sheet.Open(file)
	if errors.As(err, &broken) {
		w.report.Refuse(broken.Refusals...)
		return nil
	}
	if err != nil {
		return err
	}
	for last := false; !last; {
		var lines []*intake.Line[T]
		names := map[string]bool{}
		for len(lines) < chunk {
			line, err := rows.Next()
			if errors.Is(err, io.EOF) {
				last = true
				break
			}
			if errors.As(err, &broken) {
				defer w.report.Refuse(broken.Refusals...)
				last = true
				break
			}
			if err != nil {
				return err
			}
			// A row that speaks of an earlier one of the file needs it kept first.
			if r.itself != nil && names[r.itself(line)] {
				if err := r.take(w, lines); err != nil {
					return err
				}
				lines = nil
				clear(names)
			}
			names[line.Name()] = true
			lines = append(lines, line)
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := r.take(w, lines); err != nil {
			return err
		}
		progress(w.report.Total)
	}
	return nil
}

// take checks some lines, and writes those that stand.
func (r *room[T]) take(w *work, lines []*intake.Line[T]) error {
	if len(lines) == 0 {
		return nil
	}
	named := slices.DeleteFunc(slices.Clone(lines), func(l *intake.Line[T]) bool { return l.Key() == "" })
	loaded, err := r.load(w, named)
	if err != nil {
		return err
	}
	kept := make(map[string]*T, len(loaded))
	for _, t := range loaded {
		kept[r.sheet.KeyOf(t)] = t
	}
	var touched []row[T]
	reports := make(map[*intake.Line[T]]intake.RowReport, len(lines))
	for _, line := range named {
		t, found := kept[line.Key()]
		if !found {
			t = new(T)
		}
		if r.prepare != nil {
			r.prepare(w, line, t)
		}
		changes := line.Apply(t, !found)
		report := intake.RowReport{Line: line.Number, Name: line.Name(), State: intake.Same}
		switch {
		case !found:
			report.State = intake.New
		case len(changes) > 0:
			report.State, report.Changes = intake.Changed, r.masked(w, changes)
		}
		if report.State != intake.Same {
			touched = append(touched, row[T]{line, t, !found})
		}
		reports[line] = report
	}
	if err := r.link(w, touched); err != nil {
		return err
	}
	good := make([]row[T], 0, len(touched))
	for _, row := range touched {
		row.line.Check(row.t)
		if len(row.line.Refusals) == 0 {
			good = append(good, row)
		}
	}
	if len(good) > 0 {
		if err := r.save(w, good); err != nil {
			return fmt.Errorf("writing the rows of the lines %d to %d: %w", lines[0].Number, lines[len(lines)-1].Number, err)
		}
	}
	for _, line := range lines {
		w.report.Total++
		if len(line.Refusals) > 0 {
			w.report.Refused++
			w.report.Refuse(line.Refusals...)
			continue
		}
		w.report.Row(reports[line])
	}
	return nil
}

// masked hides the kept amounts from those who may not see money.
func (r *room[T]) masked(w *work, changes []intake.Change) []intake.Change {
	for i := range changes {
		if !w.seesMoney && r.sheet.IsMoney(changes[i].Field) {
			changes[i].From = "(an amount)"
		}
	}
	return changes
}

func (r *room[T]) write(w *work, to io.Writer, system units.System, withMoney, withContacts bool) error {
	out := r.sheet.Writer(to, system, withMoney, withContacts)
	err := r.pages(w, func(rows []*T) error {
		for _, t := range rows {
			if err := out.Write(t); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return out.Flush()
}

// work is what one reading or writing of a file remembers of the records that
// its rows name.
type work struct {
	q         store.Query
	tx        *store.Tx // nil when a file is written
	report    *intake.Report
	branch    int64
	seesMoney bool
	today     units.Date // of a reading

	houses, roofs, jobs, warranties, callbacks, visits, storms, contacts, coverings, terms, crews, lots, subcontracts, details, slopeNames, claims *names

	structures *within[models.Structure, *models.Structure]
	attics     *within[models.Attic, *models.Attic]
	slopes     *within[models.Slope, *models.Slope]

	alike      map[string]int // kept rows that nth tells apart
	holders    map[*intake.House]*holding
	byContact  map[string]*models.Contact // as kept before these rows
	saysOf     map[string]map[string]said // contact ref and column to what the file says
	defectKeys map[string]bool
}

type said struct {
	text string
	line int
}

func newWork(q store.Query, branch int64) *work {
	of := func(t store.NameTable, noun string) *names {
		return &names{table: t, noun: noun, byName: map[string]store.Named{}, byID: map[int64]store.Named{}}
	}
	return &work{q: q, branch: branch,
		houses: of(store.HouseNames, "house"), roofs: of(store.RoofNames, "roof"), jobs: of(store.JobNames, "job"),
		warranties: of(store.WarrantyNames, "warranty"), callbacks: of(store.CallbackNames, "callback"), visits: of(store.VisitNames, "visit"),
		storms: of(store.StormNames, "storm"), contacts: of(store.ContactNames, "contact"), coverings: of(store.CoveringNames, "covering"),
		terms: of(store.TermsNames, "terms"), crews: of(store.CrewNames, "crew"),
		lots: of(store.LotNames, "lot"), subcontracts: of(store.SubcontractNames, "subcontract"), details: of(store.DetailNames, "detail"),
		slopeNames: of(store.SlopeNames, "slope"), claims: of(store.ClaimNames, "claim"),
		structures: newWithin("house_id", func(s *models.Structure) (int64, string) { return s.HouseID, s.Name }),
		attics:     newWithin("structure_id", func(a *models.Attic) (int64, string) { return a.StructureID, a.Name }),
		slopes:     newWithin("structure_id", func(s *models.Slope) (int64, string) { return s.StructureID, s.Name }),
		saysOf:     map[string]map[string]said{},
	}
}

// names finds records of one kind by the name that files give them.
type names struct {
	table  store.NameTable
	noun   string
	byName map[string]store.Named // ID 0 where there is none
	byID   map[int64]store.Named
}

func (n *names) add(found ...store.Named) {
	for _, f := range found {
		f.Name = strings.TrimSpace(f.Name)
		n.byName[f.Name], n.byID[f.ID] = f, f
	}
}

func (n *names) find(q store.Query, wanted []string) error {
	var missing []string
	for _, name := range wanted {
		if _, known := n.byName[name]; !known && name != "" {
			n.byName[name] = store.Named{}
			missing = append(missing, name)
		}
	}
	if len(missing) == 0 {
		return nil
	}
	found, err := n.table.ByName(q, missing)
	n.add(found...)
	return err
}

func (n *names) findIDs(q store.Query, wanted []int64) error {
	var missing []int64
	for _, id := range wanted {
		if _, known := n.byID[id]; !known && id != 0 {
			n.byID[id] = store.Named{}
			missing = append(missing, id)
		}
	}
	if len(missing) == 0 {
		return nil
	}
	found, err := n.table.ByID(q, missing)
	n.add(found...)
	return err
}

// record is a pointer to a record of type M.
type record[M any] interface {
	*M
	models.Record
}

// within finds records by their name within what they belong to: a structure
// within its house.
type within[M any, P record[M]] struct {
	column string
	place  func(P) (parent int64, name string)
	byID   map[int64]P
	ids    map[placed]int64
	of     map[int64][]int64 // of parents that were read
}

type placed struct {
	parent int64
	name   string
}

func newWithin[M any, P record[M]](column string, place func(P) (int64, string)) *within[M, P] {
	return &within[M, P]{column: column, place: place, byID: map[int64]P{}, ids: map[placed]int64{}, of: map[int64][]int64{}}
}

func (n *within[M, P]) add(m P) {
	parent, name := n.place(m)
	id := m.Base().ID
	n.of[parent] = append(n.of[parent], id)
	n.byID[id] = m
	n.ids[placed{parent, strings.TrimSpace(name)}] = id
}

// find reads what belongs to the parents, and gives its numbers.
func (n *within[M, P]) find(q store.Query, parents []int64) ([]int64, error) {
	var missing, out []int64
	parents = slices.Compact(slices.Sorted(slices.Values(parents)))
	for _, p := range parents {
		if _, read := n.of[p]; !read && p != 0 {
			n.of[p] = nil
			missing = append(missing, p)
		}
	}
	found, err := store.ListIn[M](q, n.column, missing)
	if err != nil {
		return nil, err
	}
	for i := range found {
		n.add(P(&found[i]))
	}
	for _, p := range parents {
		out = append(out, n.of[p]...)
	}
	return out, nil
}

// findIDs reads the records with the given numbers.
func (n *within[M, P]) findIDs(q store.Query, ids []int64) error {
	var missing []int64
	for _, id := range slices.Compact(slices.Sorted(slices.Values(ids))) {
		if n.byID[id] == nil && id != 0 {
			missing = append(missing, id)
		}
	}
	found, err := store.ListIn[M](q, "id", missing)
	for i := range found {
		n.byID[P(&found[i]).Base().ID] = P(&found[i])
	}
	return err
}

// ref is a column that names another record by its ref.
type ref[T any] struct {
	column string
	names  func(*work) *names
	text   func(*T) *string
	id     func(*T) int64
	set    func(*T, int64)
	// house gives the house that the named record must belong to, where it must.
	house func(*T) int64
}

func must[T any](column string, names func(*work) *names, text func(*T) *string, at func(*T) *int64) ref[T] {
	return ref[T]{column: column, names: names, text: text, id: func(t *T) int64 { return *at(t) }, set: func(t *T, id int64) { *at(t) = id }}
}

func may[T any](column string, names func(*work) *names, text func(*T) *string, at func(*T) **int64) ref[T] {
	return ref[T]{column: column, names: names, text: text,
		id: func(t *T) int64 {
			if id := *at(t); id != nil {
				return *id
			}
			return 0
		},
		set: func(t *T, id int64) {
			*at(t) = nil
			if id != 0 {
				*at(t) = &id
			}
		}}
}

func (r ref[T]) ofHouse(house func(*T) int64) ref[T] {
	r.house = house
	return r
}

func (r ref[T]) link(w *work, rows []row[T]) error {
	names := r.names(w)
	wanted := make([]string, len(rows))
	for i, row := range rows {
		wanted[i] = *r.text(row.t)
	}
	if err := names.find(w.q, wanted); err != nil {
		return err
	}
	for i, row := range rows {
		found := names.byName[wanted[i]]
		if wanted[i] != "" && found.ID == 0 {
			row.line.Refuse(r.column, wanted[i], "is not kept: there is no such %s", names.noun)
			continue
		}
		if r.house != nil {
			sameHouse(w, row.line, r.column, found, r.house(row.t))
		}
		r.set(row.t, found.ID)
	}
	return nil
}

// sameHouse refuses a record of another house.
func sameHouse[T any](w *work, line *intake.Line[T], column string, found store.Named, house int64) {
	if found.House != 0 && house != 0 && found.House != house {
		line.Refuse(column, found.Name, "belongs to another house than the row names")
	}
}

func (r ref[T]) fill(w *work, ts []*T) error {
	names := r.names(w)
	wanted := make([]int64, len(ts))
	for i, t := range ts {
		wanted[i] = r.id(t)
	}
	if err := names.findIDs(w.q, wanted); err != nil {
		return err
	}
	for i, t := range ts {
		*r.text(t) = names.byID[wanted[i]].Name
	}
	return nil
}

// wrap puts records into rows.
func wrap[T, M any](inner func(*T) *M, ms []M) []*T {
	ts := make([]*T, len(ms))
	for i := range ms {
		ts[i] = new(T)
		*inner(ts[i]) = ms[i]
	}
	return ts
}

// keep writes the records within new and changed rows.
func keep[T, M any, P record[M]](w *work, rows []row[T], inner func(*T) *M) error {
	var added, changed []*M
	for _, row := range rows {
		if row.new {
			added = append(added, inner(row.t))
		} else {
			changed = append(changed, inner(row.t))
		}
	}
	return keepRecords[M, P](w, added, changed)
}

// keepRecords adds and changes records, and gives the added ones their numbers.
func keepRecords[M any, P record[M]](w *work, added, changed []*M) error {
	out := make([]M, len(added))
	for i, m := range added {
		out[i] = *m
	}
	if err := store.CreateAll[M, P](w.tx, out); err != nil {
		return err
	}
	for i, m := range added {
		*m = out[i]
	}
	out = make([]M, len(changed))
	for i, m := range changed {
		out[i] = *m
	}
	return store.UpdateAll[M, P](w.tx, out)
}

// pagesOf reads all records of a kind, some at a time.
func pagesOf[M any, P record[M]](q store.Query, fn func([]M) error) error {
	for after := int64(0); ; {
		page, err := store.After[M](q, after, chunk)
		if err != nil || len(page) == 0 {
			return err
		}
		if err := fn(page); err != nil {
			return err
		}
		after = P(&page[len(page)-1]).Base().ID
	}
}

// plainRoom is the room of a kind whose record has a name of its own, in the
// column key, and names others by their refs.
type plainRoom[T, M any, P record[M]] struct {
	sheet  *intake.Sheet[T]
	key    string
	inner  func(*T) *M
	refs   []ref[T]
	names  func(*work) *names // that files find these records by; nil when none name them
	house  func(*M) int64
	fill   func(w *work, ts []*T) error // what else is kept with the record
	link   func(w *work, rows []row[T]) error
	after  func(w *work, rows []row[T]) error // what else is written, once the records have their numbers
	itself func(*intake.Line[T]) string
}

func (p plainRoom[T, M, P]) room() *room[T] {
	fill := func(w *work, ms []M) ([]*T, error) {
		ts := wrap(p.inner, ms)
		for _, r := range p.refs {
			if err := r.fill(w, ts); err != nil {
				return nil, err
			}
		}
		if p.fill != nil {
			if err := p.fill(w, ts); err != nil {
				return nil, err
			}
		}
		return ts, nil
	}
	return &room[T]{sheet: p.sheet, itself: p.itself,
		load: func(w *work, lines []*intake.Line[T]) ([]*T, error) {
			ms, err := store.ListIn[M](w.q, p.key, texts(lines, p.key))
			if err != nil {
				return nil, err
			}
			return fill(w, ms)
		},
		link: func(w *work, rows []row[T]) error {
			for _, r := range p.refs {
				if err := r.link(w, rows); err != nil {
					return err
				}
			}
			if p.link != nil {
				return p.link(w, rows)
			}
			return nil
		},
		save: func(w *work, rows []row[T]) error {
			if err := keep[T, M, P](w, rows, p.inner); err != nil {
				return err
			}
			if p.names != nil {
				for _, row := range rows {
					m := p.inner(row.t)
					named := store.Named{ID: P(m).Base().ID, Name: row.line.Name()}
					if p.house != nil {
						named.House = p.house(m)
					}
					p.names(w).add(named)
				}
			}
			if p.after != nil {
				return p.after(w, rows)
			}
			return nil
		},
		pages: func(w *work, fn func([]*T) error) error {
			return pagesOf[M, P](w.q, func(ms []M) error {
				ts, err := fill(w, ms)
				if err != nil {
					return err
				}
				return fn(ts)
			})
		},
	}
}

// texts gives what the lines say in a column.
func texts[T any](lines []*intake.Line[T], column string) []string {
	out := make([]string, len(lines))
	for i, l := range lines {
		out[i] = l.Text(column)
	}
	return out
}
