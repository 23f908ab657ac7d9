package service

import (
	"slices"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/intake"
	"overhang/models/store"
)

// holding is what is kept around a house of a file: who holds it, its further
// addresses, its roofs.
type holding struct {
	contact  *models.Contact // of the holder that the row begins with; nil when new
	kept     *models.Holding // the current one
	owners   []models.Holding
	lines    map[string]bool // further addresses and old spellings
	covering string
	laid     units.Dated
	roofs    []string // other roofs that lie there
	sale     bool     // the row names another holder than the kept one
}

// houseRoom has the houses, each with its main address, its holder and the roof
// that is believed to lie on a neighbour's.
var houseRoom = &room[intake.House]{sheet: intake.Houses,
	load: func(w *work, lines []*intake.Line[intake.House]) ([]*intake.House, error) {
		houses, err := store.ListIn[models.House](w.q, "ref", texts(lines, "ref"))
		if err != nil {
			return nil, err
		}
		w.holders = map[*intake.House]*holding{}
		ts, err := fillHouses(w, houses)
		if err != nil {
			return nil, err
		}
		refs := texts(lines, "contact_ref")
		for _, l := range lines {
			refs = append(refs, intake.HolderRef(l.Text("ref")))
		}
		contacts, err := store.ListIn[models.Contact](w.q, "ref", distinct(refs))
		if err != nil {
			return nil, err
		}
		w.byContact = map[string]*models.Contact{}
		for i := range contacts {
			w.byContact[strings.TrimSpace(contacts[i].Ref)] = &contacts[i]
		}
		for _, t := range ts {
			if c := w.holders[t].contact; c != nil {
				w.byContact[strings.TrimSpace(c.Ref)] = c
			}
		}
		return ts, nil
	},
	prepare: prepareHouse,
	link:    linkHouses,
	save:    saveHouses,
	pages: func(w *work, fn func([]*intake.House) error) error {
		return pagesOf[models.House](w.q, func(ms []models.House) error {
			w.holders = map[*intake.House]*holding{}
			ts, err := fillHouses(w, ms)
			if err != nil {
				return err
			}
			return fn(ts)
		})
	},
}

func distinct(texts []string) []string {
	seen := map[string]bool{"": true}
	var out []string
	for _, t := range texts {
		if !seen[t] {
			seen[t] = true
			out = append(out, t)
		}
	}
	return out
}

// fillHouses puts what is kept around houses into their rows.
func fillHouses(w *work, houses []models.House) ([]*intake.House, error) {
	ts := wrap(func(h *intake.House) *models.House { return &h.House }, houses)
	ids, of := numbered(ts, func(h *intake.House) int64 { return h.ID })
	for _, t := range ts {
		w.holders[t] = &holding{lines: map[string]bool{}}
	}
	addresses, err := store.ListIn[models.Address](w.q, "house_id", ids)
	if err != nil {
		return nil, err
	}
	for _, a := range addresses {
		t := of[a.HouseID]
		switch {
		case a.Main && t.Address.ID == 0:
			t.Address = a
			continue
		case a.Alias:
			t.Old = append(t.Old, a.Line())
		default:
			t.Others = append(t.Others, a.Line())
		}
		w.holders[t].lines[strings.TrimSpace(a.Line())] = true
	}
	holdings, err := store.ListIn[models.Holding](w.q, "house_id", ids)
	if err != nil {
		return nil, err
	}
	var contactIDs []int64
	for _, h := range holdings {
		if !h.ToOn.IsZero() {
			continue
		}
		k := w.holders[of[h.HouseID]]
		if h.Role == "owner" {
			k.owners = append(k.owners, h)
		}
		// The newest owner, or else the newest of the others.
		if k.kept == nil || (h.Role == "owner") != (k.kept.Role == "owner") && h.Role == "owner" || h.Role == k.kept.Role && h.FromOn >= k.kept.FromOn {
			k.kept = &h
		}
	}
	for _, t := range ts {
		if k := w.holders[t]; k.kept != nil {
			contactIDs = append(contactIDs, k.kept.ContactID)
		}
	}
	contacts, err := store.ListIn[models.Contact](w.q, "id", contactIDs)
	if err != nil {
		return nil, err
	}
	byID := map[int64]*models.Contact{}
	for i := range contacts {
		byID[contacts[i].ID] = &contacts[i]
	}
	for _, t := range ts {
		if k := w.holders[t]; k.kept != nil {
			k.contact = byID[k.kept.ContactID]
			t.Holder = intake.HolderOf(k.contact, k.kept)
		}
	}
	roofs, err := store.ListIn[models.Roof](w.q, "house_id", ids)
	if err != nil {
		return nil, err
	}
	var coverings []int64
	for _, r := range roofs {
		if !r.EndedOn.IsZero() {
			continue
		}
		t := of[r.HouseID]
		if r.Ref != intake.BelievedRef(t.Ref) || r.Ours {
			w.holders[t].roofs = append(w.holders[t].roofs, r.Ref)
			continue
		}
		t.Roof = r
		if r.CoveringID != nil {
			coverings = append(coverings, *r.CoveringID)
		}
	}
	if err := w.coverings.findIDs(w.q, coverings); err != nil {
		return nil, err
	}
	for _, t := range ts {
		if t.Roof.CoveringID != nil {
			t.Covering = w.coverings.byID[*t.Roof.CoveringID].Name
		}
		w.holders[t].covering, w.holders[t].laid = t.Covering, t.Roof.Laid
	}
	return ts, nil
}

// prepareHouse begins a row with the contact that it names: where that is not
// the present holder, what is kept of the contact and not of the present holder
// is what the row's cells are held against.
func prepareHouse(w *work, line *intake.Line[intake.House], t *intake.House) {
	k := w.holders[t]
	if k == nil {
		k = &holding{lines: map[string]bool{}}
		w.holders[t] = k
	}
	named := line.Text("contact_ref")
	if named == "" && k.kept == nil {
		for _, column := range intake.ContactColumns {
			if line.Text(column) != "" {
				named = intake.HolderRef(line.Text("ref"))
				t.Holder.Ref = named
			}
		}
	}
	if named == "" || k.kept != nil && strings.TrimSpace(t.Holder.Ref) == named {
		return
	}
	before := t.Holder.Ref
	k.sale = k.kept != nil
	k.contact = w.byContact[named]
	t.Holder = intake.Holder{}
	if k.contact != nil {
		t.Holder = intake.HolderOf(k.contact, nil)
	}
	t.Holder.Ref = before
}

func linkHouses(w *work, rows []row[intake.House]) error {
	var coverings []string
	for _, row := range rows {
		coverings = append(coverings, row.t.Covering)
	}
	if err := w.coverings.find(w.q, coverings); err != nil {
		return err
	}
	for _, row := range rows {
		t, line, k := row.t, row.line, w.holders[row.t]
		if t.BranchID == 0 {
			t.BranchID = w.branch
		}
		if t.Address.ID == 0 {
			t.Address.Main = true
		}
		if t.Holder != (intake.Holder{}) && t.Holder.Role == "" {
			t.Holder.Role = "owner"
		}
		if t.Holder != (intake.Holder{}) && t.Holder.Ref == "" {
			line.Refuse("contact_ref", "", "is needed: nobody is kept as holding the house")
		}
		if k.sale {
			switch {
			case t.Holder.Since.IsZero():
				line.Refuse("holder_since", "", "is needed when a house passes to another holder: the day of the sale")
			case t.Holder.Since < k.kept.FromOn:
				line.Refuse("holder_since", t.Holder.Since.String(), "must not be before the present holder's first day (%s)", k.kept.FromOn)
			}
		}
		agree(w, line, t.Holder.Ref)
		if t.Covering == "" && t.Roof.Laid.IsZero() || t.Covering == k.covering && t.Roof.Laid == k.laid {
			continue
		}
		if len(k.roofs) > 0 {
			column := "covering"
			if t.Covering == k.covering {
				column = "roof_year"
			}
			line.Refuse(column, line.Text(column), "the house has the roof %s; leave this empty and change that in a file of roofs", strings.Join(k.roofs, ", "))
			continue
		}
		t.Roof.Ref = intake.BelievedRef(t.Ref)
		t.Roof.CoveringID = nil
		if t.Covering != "" {
			found := w.coverings.byName[t.Covering]
			if found.ID == 0 {
				line.Refuse("covering", t.Covering, "is not kept: there is no such covering")
			}
			t.Roof.CoveringID = &found.ID
		}
	}
	return nil
}

// agree refuses a row that says otherwise of a contact than an earlier row of
// the file: the two would change it to and fro.
func agree(w *work, line *intake.Line[intake.House], contact string) {
	if contact == "" {
		return
	}
	for _, column := range intake.ContactColumns {
		text := line.Text(column)
		if text == "" {
			continue
		}
		before, found := w.saysOf[contact][column]
		switch {
		case !found:
			if w.saysOf[contact] == nil {
				w.saysOf[contact] = map[string]said{}
			}
			w.saysOf[contact][column] = said{text, line.Number}
		case before.text != text:
			line.Refuse(column, text, "says otherwise of the contact %s than line %d", contact, before.line)
		}
	}
}

func contactFields(c *models.Contact) []*string {
	return []*string{&c.Ref, &c.Name, &c.Kind, &c.Phone, &c.Phone2, &c.Email, &c.Language}
}

// saveContacts writes the contacts of rows, one record for each ref, and gives
// them by their refs.
func saveContacts(w *work, rows []row[intake.House]) (map[string]*models.Contact, error) {
	shared := map[string]*models.Contact{}
	var added, changed []*models.Contact
	for _, row := range rows {
		ref := strings.TrimSpace(row.t.Holder.Ref)
		if ref == "" {
			continue
		}
		var base models.Contact
		if kept := w.byContact[ref]; kept != nil {
			base = *kept
		}
		if shared[ref] == nil {
			c := base
			shared[ref] = &c
			if base.ID == 0 {
				added = append(added, &c)
			} else {
				changed = append(changed, &c)
			}
		}
		says := base
		row.t.Holder.Contact(&says)
		if base.ID != 0 {
			says.Ref = base.Ref
		}
		from, to, was := contactFields(&says), contactFields(shared[ref]), contactFields(&base)
		for i := range from {
			if *from[i] != *was[i] {
				*to[i] = *from[i]
			}
		}
	}
	return shared, keepRecords[models.Contact](w, added, changed)
}

func saveHouses(w *work, rows []row[intake.House]) error {
	contacts, err := saveContacts(w, rows)
	if err != nil {
		return err
	}
	if err := keep[intake.House, models.House](w, rows, func(h *intake.House) *models.House { return &h.House }); err != nil {
		return err
	}
	var newAddresses, addresses []*models.Address
	var newHoldings, holdings []*models.Holding
	var newRoofs, roofs []*models.Roof
	for _, row := range rows {
		t, k := row.t, w.holders[row.t]
		t.Address.HouseID = t.ID
		if t.Address.ID == 0 {
			newAddresses = append(newAddresses, &t.Address)
		} else {
			addresses = append(addresses, &t.Address)
		}
		for i, line := range slices.Concat(t.Others, t.Old) {
			if k.lines[strings.TrimSpace(line)] {
				continue
			}
			a, err := intake.ParseAddress(line)
			if err != nil {
				return err
			}
			k.lines[strings.TrimSpace(line)] = true
			a.HouseID, a.Alias = t.ID, i >= len(t.Others)
			newAddresses = append(newAddresses, &a)
		}
		if c := contacts[strings.TrimSpace(t.Holder.Ref)]; c != nil {
			held := models.Holding{HouseID: t.ID, ContactID: c.ID}
			if k.kept != nil && !k.sale {
				held = *k.kept
			}
			held.Role, held.FromOn, held.NoticeOn = t.Holder.Role, t.Holder.Since, t.Holder.NoticeOn
			if held.ID == 0 {
				newHoldings = append(newHoldings, &held)
			} else {
				holdings = append(holdings, &held)
			}
			if k.sale {
				ended := k.owners
				if k.kept.Role != "owner" {
					ended = []models.Holding{*k.kept}
				}
				for _, h := range ended {
					h.ToOn = max(t.Holder.Since, h.FromOn)
					holdings = append(holdings, &h)
				}
			}
		}
		if t.Covering != k.covering || t.Roof.Laid != k.laid {
			t.Roof.HouseID = t.ID
			if t.Roof.ID == 0 {
				newRoofs = append(newRoofs, &t.Roof)
			} else {
				roofs = append(roofs, &t.Roof)
			}
		}
	}
	if err := keepRecords[models.Address](w, newAddresses, addresses); err != nil {
		return err
	}
	if err := keepRecords[models.Holding](w, newHoldings, holdings); err != nil {
		return err
	}
	w.report.Make("roof believed to lie there", len(newRoofs))
	return keepRecords[models.Roof](w, newRoofs, roofs)
}
