package store

import "overhang/models"

// ClaimRow is a claim in a listing.
type ClaimRow struct {
	models.Claim `gorm:"embedded"`
	CallbackRef  string
	Number2      string
	Street       string
	Town         string
	AddressGiven string
}

// Address writes where the callback of the claim is.
func (r ClaimRow) Address() string {
	if r.Street == "" {
		return r.AddressGiven
	}
	a := models.Address{Number: r.Number2, Street: r.Street, Town: r.Town}
	return a.Line()
}

// Claims lists the claims that something is still to come of, or every one:
// those with a day to keep first, the nearest first.
func Claims(q Query, every bool) ([]ClaimRow, error) {
	where := "c.paid_on IS NULL AND c.answer IN ('', 'accepted')"
	if every {
		where = "1 = 1"
	}
	return Rows[ClaimRow](q, `SELECT c.*, b.ref AS callback_ref, b.address_given, a.number AS number2, a.street, a.town
FROM claims c JOIN callbacks b ON b.id = c.callback_id
LEFT JOIN addresses a ON a.house_id = b.house_id AND a.main = 1
WHERE `+where+`
ORDER BY c.paid_on IS NOT NULL OR c.answer NOT IN ('', 'accepted'),
CASE WHEN c.filed_on IS NULL THEN coalesce(c.file_by, '9999') WHEN c.answered_on IS NULL THEN coalesce(c.answer_by, '9999') ELSE '9999' END, c.id`)
}
