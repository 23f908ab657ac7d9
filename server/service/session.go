package service

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"strings"
	"time"

	"overhang/models"
	"overhang/models/store"
)

// How long a session lasts. After thirty days one signs in again whatever
// happened (NIST SP 800-63B-4, section 2.1.3, for AAL1; from memory). A week
// without a sign of life ends it earlier: a phone lost on a Friday is no longer
// signed in when it turns up, and nobody who works here signs in every morning.
const (
	sessionLasts = 30 * 24 * time.Hour
	sessionIdle  = 7 * 24 * time.Hour
	// seenEvery is how often the moment of the last request is written down: not
	// with each of them, because reading a page should write nothing.
	seenEvery = 10 * time.Minute
)

// patience is how failed tries to sign in are slowed down: the first few are
// free, after them each failure doubles the wait before the next try.
type patience struct {
	free        int
	first, most time.Duration
}

// Tries are counted over a day. An account gets five free ones. An address gets
// more, because a whole office may share one.
var (
	accountPatience = patience{free: 5, first: 30 * time.Second, most: 15 * time.Minute}
	addressPatience = patience{free: 30, first: 30 * time.Second, most: 15 * time.Minute}
)

const triesCountFor = 24 * time.Hour

// wait is how long after the last of n failures the next try may come.
func (p patience) wait(n int) time.Duration {
	if n < p.free {
		return 0
	}
	wait := p.first
	for range n - p.free {
		if wait *= 2; wait >= p.most {
			return p.most
		}
	}
	return wait
}

// SignedIn is a browser in which somebody is signed in.
type SignedIn struct {
	Token string // kept by the browser; the database has only its SHA-256
	CSRF  string // sent with every change, to show that it comes from our own page
	Actor Actor
}

// SignInTry is what somebody gives to sign in.
type SignInTry struct {
	Email    string
	Password string
	Address  string // network address that it comes from
	Browser  string // what the browser says it is
	Previous string // token of an earlier session of this browser, which ends
}

// SignIn checks an email and a password and begins a session with a new token.
// It returns a TooMany error while somebody has to wait, whether or not the
// password is right, and an Invalid error that does not say which of the two was
// wrong.
func (s *Service) SignIn(ctx context.Context, try SignInTry) (SignedIn, error) {
	email := foldEmail(try.Email)
	addressTry, err := s.beginTry(ctx, email, try.Address)
	if err != nil {
		return SignedIn{}, err
	}
	person, err := s.Store.Query(ctx).PersonByEmail(email)
	hash := nobodysHash
	switch {
	case err == nil && person.EndedOn.IsZero():
		hash = person.PasswordHash
	case err != nil && models.CodeOf(err) != models.NotFound:
		return SignedIn{}, fmt.Errorf("signing in: %w", err)
	}
	fits, outdated, err := passwordFits(try.Password, hash)
	if err != nil {
		return SignedIn{}, fmt.Errorf("signing in: %w", err)
	}
	if !fits || hash == nobodysHash {
		return SignedIn{}, models.Errorf(models.Invalid, "The email or the password is not right.")
	}
	var in SignedIn
	err = s.Store.Write(ctx, byPerson(person), func(tx *store.Tx) error {
		if err := tx.ForgetTries(accountKey(email), addressTry); err != nil {
			return err
		}
		if try.Previous != "" {
			if err := tx.EndSession(tokenHash(try.Previous)); err != nil {
				return err
			}
		}
		if outdated {
			if person.PasswordHash, err = hashPassword(try.Password); err != nil {
				return err
			}
			if err := tx.Update(person); err != nil {
				return err
			}
		}
		if in, err = beginSession(tx, person.ID, try.Browser); err != nil {
			return err
		}
		return tx.Note(person, "signed in")
	})
	if err != nil {
		return SignedIn{}, fmt.Errorf("signing in: %w", err)
	}
	return in, nil
}

// beginTry counts a try as failed before the password is looked at, so that many
// at the same moment cannot pass together; a good password takes the count away
// again. While somebody has to wait it counts nothing and returns a TooMany
// error.
func (s *Service) beginTry(ctx context.Context, email, address string) (addressTry int64, err error) {
	err = s.Store.Write(ctx, store.By{Name: "signing in"}, func(tx *store.Tx) error {
		since := tx.Now().Add(-triesCountFor)
		if err := tx.Sweep(since, tx.Now().Add(-sessionIdle)); err != nil {
			return err
		}
		for _, key := range []struct {
			who      string
			patience patience
		}{{accountKey(email), accountPatience}, {"address " + address, addressPatience}} {
			tries, err := tx.FailedTries(key.who, since)
			if err != nil {
				return err
			}
			if left := tries.Last.Add(key.patience.wait(tries.Count)).Sub(tx.Now()); tries.Count > 0 && left > 0 {
				return models.Errorf(models.TooMany, "There were too many tries. Wait %s, then try again.", inWords(left))
			}
			if addressTry, err = tx.AddTry(key.who); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return 0, fmt.Errorf("counting tries to sign in: %w", err)
	}
	return addressTry, nil
}

// accountKey names an account among the tries. It is a hash: a mistyped email,
// or a password typed where the email belongs, need not be kept.
func accountKey(email string) string { return "account " + tokenHash(email) }

// inWords rounds a wait up to what a person can count.
func inWords(d time.Duration) string {
	if d <= 90*time.Second {
		seconds := int((d + time.Second - 1) / time.Second)
		if seconds == 1 {
			return "1 second"
		}
		return fmt.Sprintf("%d seconds", seconds)
	}
	return fmt.Sprintf("%d minutes", int((d+time.Minute-1)/time.Minute))
}

func beginSession(tx *store.Tx, personID int64, browser string) (SignedIn, error) {
	in := SignedIn{Token: newToken(), CSRF: newToken()}
	person, err := store.Get[models.Person](tx.Query, personID)
	if err != nil {
		return SignedIn{}, err
	}
	if !person.EndedOn.IsZero() {
		return SignedIn{}, models.Errorf(models.Forbidden, "This sign-in has ended.")
	}
	in.Actor = actorOf(person)
	if runes := []rune(strings.ToValidUTF8(browser, "")); len(runes) > 200 {
		browser = string(runes[:200])
	}
	return in, tx.Put(&models.Session{TokenHash: tokenHash(in.Token), PersonID: personID, CSRF: in.CSRF,
		CreatedAt: tx.Now(), LastSeenAt: tx.Now(), ExpiresAt: tx.Now().Add(sessionLasts), Browser: strings.ToValidUTF8(browser, "")})
}

// Session finds who is signed in with a browser's token, and returns a NoSession
// error when nobody is: the token is not ours, the session has expired or was
// ended, or the person no longer works here.
func (s *Service) Session(ctx context.Context, token string) (SignedIn, error) {
	nobody := models.Errorf(models.NoSession, "You are not signed in.")
	if len(token) != tokenLength {
		return SignedIn{}, nobody
	}
	q := s.Store.Query(ctx)
	session, err := q.Session(tokenHash(token))
	if err != nil {
		return SignedIn{}, fmt.Errorf("reading who is signed in: %w", err)
	}
	now := s.Now()
	if !now.Before(session.ExpiresAt) || !now.Before(session.LastSeenAt.Add(sessionIdle)) {
		return SignedIn{}, nobody
	}
	person, err := store.Get[models.Person](q, session.PersonID)
	if err != nil {
		return SignedIn{}, fmt.Errorf("reading who is signed in: %w", err)
	}
	if !person.EndedOn.IsZero() {
		return SignedIn{}, nobody
	}
	if now.Sub(session.LastSeenAt) >= seenEvery {
		// A long import may hold the one writer. The page does not wait for it: the
		// next request writes the moment down.
		brief, cancel := context.WithTimeout(ctx, 200*time.Millisecond)
		defer cancel()
		err := s.Store.Write(brief, byPerson(person), func(tx *store.Tx) error { return tx.SeeSession(session.TokenHash) })
		if err != nil && brief.Err() == nil {
			return SignedIn{}, fmt.Errorf("writing down that a browser was seen: %w", err)
		}
	}
	return SignedIn{Token: token, CSRF: session.CSRF, Actor: actorOf(person)}, nil
}

// SignOut ends the session of a browser. A token that is not ours is no error.
func (s *Service) SignOut(ctx context.Context, token string) error {
	err := s.Store.Write(ctx, store.By{}, func(tx *store.Tx) error { return tx.EndSession(tokenHash(token)) })
	if err != nil {
		return fmt.Errorf("signing out: %w", err)
	}
	return nil
}

// SignOutEverywhere ends every session of whoever asks.
func (s *Service) SignOutEverywhere(ctx context.Context, a Actor) error {
	person, err := s.own(ctx, a)
	if err != nil {
		return err
	}
	err = s.Store.Write(ctx, a.By(), func(tx *store.Tx) error {
		if err := tx.EndSessions(person.ID); err != nil {
			return err
		}
		return tx.Note(person, "signed out everywhere")
	})
	if err != nil {
		return fmt.Errorf("signing out everywhere: %w", err)
	}
	return nil
}

// Browsers counts where whoever asks is signed in.
func (s *Service) Browsers(ctx context.Context, a Actor) (int, error) {
	return s.Store.Query(ctx).Sessions(a.PersonID, s.Now().Add(-sessionIdle), s.Now())
}

// PasswordChange is what somebody gives to change their own password.
type PasswordChange struct {
	Current string
	New     string
	Address string // network address that it comes from
	Browser string
}

// ChangePassword changes the password of whoever asks, ends all their sessions
// and begins a new one. A wrong current password counts as a failed try to sign
// in, so that a browser left open does not let anybody guess it.
func (s *Service) ChangePassword(ctx context.Context, a Actor, change PasswordChange) (SignedIn, error) {
	person, err := s.own(ctx, a)
	if err != nil {
		return SignedIn{}, err
	}
	if err := checkPassword(change.New, person.Email, person.Name); err != nil {
		return SignedIn{}, err
	}
	addressTry, err := s.beginTry(ctx, person.Email, change.Address)
	if err != nil {
		return SignedIn{}, err
	}
	fits, _, err := passwordFits(change.Current, person.PasswordHash)
	if err != nil {
		return SignedIn{}, fmt.Errorf("changing a password: %w", err)
	}
	if !fits {
		return SignedIn{}, models.FieldErrorf("password", "", "is not right")
	}
	if person.PasswordHash, err = hashPassword(change.New); err != nil {
		return SignedIn{}, err
	}
	var in SignedIn
	err = s.Store.Write(ctx, a.By(), func(tx *store.Tx) error {
		if err := tx.ForgetTries(accountKey(person.Email), addressTry); err != nil {
			return err
		}
		if err := tx.SetPassword(person); err != nil {
			return err
		}
		in, err = beginSession(tx, person.ID, change.Browser)
		return err
	})
	if err != nil {
		return SignedIn{}, fmt.Errorf("changing a password: %w", err)
	}
	return in, nil
}

// own reads the person who asks; the program itself has no account.
func (s *Service) own(ctx context.Context, a Actor) (*models.Person, error) {
	person, err := store.Get[models.Person](s.Store.Query(ctx), a.PersonID)
	if err != nil {
		return nil, fmt.Errorf("reading one's own account: %w", err)
	}
	return person, nil
}

func actorOf(p *models.Person) Actor { return Actor{PersonID: p.ID, Name: p.Name, Roles: p.Roles} }

func byPerson(p *models.Person) store.By { return actorOf(p).By() }

const (
	tokenBytes  = 32
	tokenLength = 43 // of tokenBytes in base64 without padding
)

// newToken makes a secret that cannot be guessed.
func newToken() string {
	b := make([]byte, tokenBytes)
	rand.Read(b) // never fails
	return base64.RawURLEncoding.EncodeToString(b)
}

// tokenHash is what the database keeps of a token. The token is random, so a
// plain hash is enough.
func tokenHash(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

func foldEmail(email string) string { return strings.ToLower(strings.TrimSpace(email)) }
