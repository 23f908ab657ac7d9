package models

import (
	"time"
)

// Photo is a picture of a roof, a job or a finding. The file itself lies
// beside the database under a name of our own.
type Photo struct {
	Row
	HouseID   int64      `json:"house_id"`
	JobID     *int64     `json:"job_id"`
	VisitID   *int64     `json:"visit_id"`
	FindingID *int64     `json:"finding_id"`
	FileName  string     `json:"file_name"`
	MediaType string     `json:"media_type"`
	Bytes     int64      `json:"bytes"`
	TakenAt   *time.Time `json:"taken_at"`
	Caption   string     `json:"caption"`
}

// Noun is "photo".
func (*Photo) Noun() string { return "photo" }

// Validate checks the rules of a photo.
func (p *Photo) Validate() error {
	var k checks
	k.that(p.HouseID != 0, "house_id", "", "a photo needs its house")
	k.required("file_name", p.FileName)
	k.required("media_type", p.MediaType)
	k.among("media_type", p.MediaType, []string{"image/jpeg", "image/png", "image/webp"})
	k.text("caption", p.Caption, 400)
	return k.err()
}
