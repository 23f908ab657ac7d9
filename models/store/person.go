package store

import (
	"overhang/analytics/units"
	"overhang/models"
)

// PersonByEmail reads the person who signs in with that email, which is kept in
// lower case. One who has ended is found too.
func (q Query) PersonByEmail(email string) (*models.Person, error) {
	return First[models.Person](q, "email = ?", email)
}

// People reads everybody, those who have ended last.
func (q Query) People() ([]models.Person, error) {
	return List[models.Person](q, "ended_on IS NOT NULL, name, id", "")
}

// CurrentPeople reads everybody who may sign in.
func (q Query) CurrentPeople() ([]models.Person, error) {
	return List[models.Person](q, "name, id", "ended_on IS NULL")
}

// EndPerson writes the person's last day and takes away whatever lets them in.
func (tx *Tx) EndPerson(p *models.Person, on units.Date) error {
	p.EndedOn = on
	if err := tx.Update(p); err != nil {
		return err
	}
	if _, err := tx.Exec("DELETE FROM one_time_links WHERE person_id = ?", p.ID); err != nil {
		return err
	}
	return tx.EndSessions(p.ID)
}

// OneTimeLink reads the link whose token has that SHA-256.
func (q Query) OneTimeLink(tokenHash string) (*models.OneTimeLink, error) {
	found, err := List[models.OneTimeLink](q, "token_hash", "token_hash = ?", tokenHash)
	if err != nil {
		return nil, err
	}
	if len(found) == 0 {
		return nil, models.Errorf(models.NotFound, "There is no such link.")
	}
	return &found[0], nil
}

// ReplaceOneTimeLink keeps a link and takes away the earlier ones that were for
// the same.
func (tx *Tx) ReplaceOneTimeLink(link models.OneTimeLink) error {
	if _, err := tx.Exec("DELETE FROM one_time_links WHERE purpose = ? AND person_id IS ?", link.Purpose, link.PersonID); err != nil {
		return err
	}
	link.ExpiresAt = link.ExpiresAt.UTC()
	return tx.Put(&link)
}

// SetPassword writes the person's new password hash, and ends the sessions and
// links that were there before it.
func (tx *Tx) SetPassword(p *models.Person) error {
	if err := tx.Update(p); err != nil {
		return err
	}
	if _, err := tx.Exec("DELETE FROM one_time_links WHERE person_id = ? AND used_at IS NULL", p.ID); err != nil {
		return err
	}
	return tx.EndSessions(p.ID)
}
