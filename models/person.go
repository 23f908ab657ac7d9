package models

import (
	"database/sql/driver"
	"fmt"
	"slices"
	"strings"
	"time"

	"overhang/analytics/units"
)

// Role is what a person does in the company, and so what they may see and
// change. A person may have several.
type Role string

// The roles.
const (
	Owner      Role = "owner"
	Office     Role = "office"
	Seller     Role = "seller"
	Scheduler  Role = "scheduler"
	Roofer     Role = "roofer"
	Bookkeeper Role = "bookkeeper"
)

// AllRoles lists the roles in the order they are shown.
var AllRoles = []Role{Owner, Office, Seller, Scheduler, Roofer, Bookkeeper}

// Roles is a set of roles, kept in one column as "office,scheduler".
type Roles []Role

// Has says whether the role is among them.
func (r Roles) Has(role Role) bool { return slices.Contains(r, role) }

// String writes the roles with commas.
func (r Roles) String() string {
	parts := make([]string, len(r))
	for i, role := range r {
		parts[i] = string(role)
	}
	return strings.Join(parts, ",")
}

// ParseRoles reads "office,scheduler" and refuses an unknown role.
func ParseRoles(s string) (Roles, error) {
	var out Roles
	for _, part := range strings.Split(s, ",") {
		role := Role(strings.ToLower(strings.TrimSpace(part)))
		if role == "" || slices.Contains(out, role) {
			continue
		}
		if !slices.Contains(AllRoles, role) {
			return nil, fmt.Errorf("role %q: must be one of %s", part, Roles(AllRoles))
		}
		out = append(out, role)
	}
	return out, nil
}

// Value writes the roles to a column.
func (r Roles) Value() (driver.Value, error) { return r.String(), nil }

// Scan reads the roles from a column.
func (r *Roles) Scan(v any) error {
	s, isText := v.(string)
	if b, isBytes := v.([]byte); isBytes {
		s, isText = string(b), true
	}
	if !isText {
		return fmt.Errorf("roles from a column of type %T", v)
	}
	out, err := ParseRoles(s)
	*r = out
	return err
}

// Person is somebody who signs in.
type Person struct {
	Row
	Email        string     `json:"email"` // what they sign in with, lower case
	Name         string     `json:"name"`
	PasswordHash string     `json:"-"`
	Roles        Roles      `json:"roles"`
	Demo         bool       `json:"demo"` // has a password that the demo prints
	EndedOn      units.Date `json:"ended_on"`
}

// Noun is "person".
func (*Person) Noun() string { return "person" }

// Validate checks the rules of a person.
func (p *Person) Validate() error {
	var k checks
	k.required("email", p.Email)
	k.email("email", p.Email)
	k.that(p.Email == strings.ToLower(p.Email), "email", p.Email, "is kept in lower case")
	k.required("name", p.Name)
	k.text("name", p.Name, 120)
	k.that(len(p.Roles) > 0, "roles", "", "at least one role is needed")
	k.that(p.PasswordHash != "", "password", "", "is needed")
	return k.err()
}

// Session is one signed-in browser. The token itself is only in the browser;
// the database has its SHA-256.
type Session struct {
	TokenHash  string `gorm:"primaryKey"`
	PersonID   int64
	CSRF       string
	CreatedAt  time.Time
	LastSeenAt time.Time
	ExpiresAt  time.Time
	Browser    string
}

// SignInAttempt is a failed try, kept to slow down guessing.
type SignInAttempt struct {
	ID  int64  `gorm:"primaryKey"`
	Who string // folded email, or the address it came from
	At  time.Time
}

// OneTimeLink lets somebody set a first password once, before it expires.
type OneTimeLink struct {
	TokenHash string `gorm:"primaryKey"`
	Purpose   string // "first_owner" or "reset"
	PersonID  *int64
	ExpiresAt time.Time
	UsedAt    *time.Time
}
