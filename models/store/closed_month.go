package store

import "overhang/models"

// Closed reads the closed months in order, with every entry that they booked.
func Closed(q Query) ([]models.ClosedMonth, []models.BookedEntry, error) {
	months, err := List[models.ClosedMonth](q, "month", "")
	if err != nil || len(months) == 0 {
		return nil, nil, err
	}
	entries, err := List[models.BookedEntry](q, "id", "")
	return months, entries, err
}

// Provisions reads what was said and booked by year laid when a month was closed.
func Provisions(q Query, closedMonthID int64) ([]models.ClosedProvision, error) {
	return List[models.ClosedProvision](q, "laid_year", "closed_month_id = ?", closedMonthID)
}

// CloseMonth keeps a closed month with its rows.
func CloseMonth(tx *Tx, m *models.ClosedMonth, provisions []models.ClosedProvision, entries []models.BookedEntry) error {
	if err := tx.Create(m); err != nil {
		return err
	}
	for i := range provisions {
		provisions[i].ClosedMonthID = m.ID
	}
	for i := range entries {
		entries[i].ClosedMonthID = m.ID
	}
	if err := PutAll(tx, provisions); err != nil {
		return err
	}
	return PutAll(tx, entries)
}
