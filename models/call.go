package models

import "time"

// Call is a telephone call: who rang, about what, and the ring-back that was
// promised. It may wait without a house or a callback until these are known;
// two calls about one leak join the same callback.
type Call struct {
	Row
	Caller     string     `json:"caller"`
	Phone      string     `json:"phone"`
	About      string     `json:"about"`
	RangAt     time.Time  `json:"rang_at"`
	RingBackBy *time.Time `json:"ring_back_by"`
	RungBackAt *time.Time `json:"rung_back_at"`
	Attempts   int        `json:"attempts"`
	ContactID  *int64     `json:"contact_id"`
	HouseID    *int64     `json:"house_id"`
	CallbackID *int64     `json:"callback_id"`
}

// Noun is "call".
func (*Call) Noun() string { return "call" }

// Validate checks the rules of a call.
func (c *Call) Validate() error {
	var k checks
	k.that(c.Caller != "" || c.Phone != "", "caller", "", "a name or a telephone number is needed")
	k.text("caller", c.Caller, 120)
	k.phone("phone", c.Phone)
	k.text("about", c.About, 2000)
	k.that(!c.RangAt.IsZero(), "rang_at", "", "is needed")
	number(&k, "attempts", &c.Attempts, 0, 100)
	return k.err()
}
