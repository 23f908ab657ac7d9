package store

import "overhang/models"

// History reads the changes of one record, newest first.
func (q Query) History(record string, id int64, page Page) ([]models.AuditEntry, error) {
	offset, limit := page.Bounds()
	return Rows[models.AuditEntry](q, "SELECT * FROM audit_entries WHERE record = ? AND record_id = ? ORDER BY id DESC LIMIT ? OFFSET ?",
		record, id, limit, offset)
}
