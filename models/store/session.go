package store

import (
	"fmt"
	"time"

	"overhang/models"
)

// Session reads the session whose token has that SHA-256. Whether it is still
// good is for the caller to judge.
func (q Query) Session(tokenHash string) (*models.Session, error) {
	found, err := List[models.Session](q, "token_hash", "token_hash = ?", tokenHash)
	if err != nil {
		return nil, err
	}
	if len(found) == 0 {
		return nil, models.Errorf(models.NoSession, "You are not signed in.")
	}
	return &found[0], nil
}

// Sessions counts the browsers in which a person was seen since a moment and
// is still signed in at another.
func (q Query) Sessions(personID int64, seenSince, at time.Time) (int, error) {
	return Count[models.Session](q, "person_id = ? AND last_seen_at > ? AND expires_at > ?", personID, seenSince.UTC(), at.UTC())
}

// SeeSession writes down that the session's browser was here.
func (tx *Tx) SeeSession(tokenHash string) error {
	_, err := tx.Exec("UPDATE sessions SET last_seen_at = ? WHERE token_hash = ?", tx.now, tokenHash)
	return err
}

// EndSession takes away one session.
func (tx *Tx) EndSession(tokenHash string) error {
	_, err := tx.Exec("DELETE FROM sessions WHERE token_hash = ?", tokenHash)
	return err
}

// EndSessions takes away every session of a person.
func (tx *Tx) EndSessions(personID int64) error {
	_, err := tx.Exec("DELETE FROM sessions WHERE person_id = ?", personID)
	return err
}

// Tries is how often signing in has failed for an account or an address, and
// when it last did.
type Tries struct {
	Count int
	Last  time.Time
}

// FailedTries counts the failures of one account or address since a moment.
func (q Query) FailedTries(who string, since time.Time) (Tries, error) {
	found, err := List[models.SignInAttempt](q, "at, id", "who = ? AND at > ?", who, since.UTC())
	if err != nil || len(found) == 0 {
		return Tries{}, err
	}
	return Tries{Count: len(found), Last: found[len(found)-1].At}, nil
}

// AddTry writes down a failure, and gives its number.
func (tx *Tx) AddTry(who string) (int64, error) {
	try := models.SignInAttempt{Who: who, At: tx.now}
	if err := tx.Put(&try); err != nil {
		return 0, err
	}
	return try.ID, nil
}

// ForgetTries takes away the failures of an account, and one of an address.
func (tx *Tx) ForgetTries(account string, addressTry int64) error {
	_, err := tx.Exec("DELETE FROM sign_in_attempts WHERE who = ? OR id = ?", account, addressTry)
	return err
}

// Sweep takes away what no longer lets anybody in, and tries before a moment.
func (tx *Tx) Sweep(triesBefore, seenBefore time.Time) error {
	for _, old := range []struct {
		statement string
		moment    time.Time
	}{
		{"DELETE FROM sign_in_attempts WHERE at < ?", triesBefore},
		{"DELETE FROM sessions WHERE expires_at < ?", tx.now},
		{"DELETE FROM sessions WHERE last_seen_at < ?", seenBefore},
		{"DELETE FROM one_time_links WHERE expires_at < ?", tx.now},
	} {
		if _, err := tx.Exec(old.statement, old.moment.UTC()); err != nil {
			return fmt.Errorf("sweeping out what has expired: %w", err)
		}
	}
	return nil
}

// Note writes an audit entry for what changes no column: somebody signed in.
func (tx *Tx) Note(rec models.Record, action string) error {
	return tx.record(models.AuditEntry{Record: rec.Noun(), RecordID: rec.Base().ID, Action: action, Changes: "{}"})
}
