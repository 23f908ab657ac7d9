package server

import (
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) showTrail(r *Request) error {
	record, page := r.Query("record"), r.Page(50)
	entries, total, err := s.service.Trail(r.ctx, r.Actor, record, page)
	if err != nil {
		return err
	}
	lines := make([]views.TrailLine, len(entries))
	for i, e := range entries {
		lines[i] = views.TrailLine{At: e.At, By: e.By, Record: e.Record, ID: e.RecordID, Action: e.Action}
		for _, f := range e.Fields {
			lines[i].Fields = append(lines[i].Fields, views.TrailField(f))
		}
	}
	return r.Render(views.NewTrailPage(r.Frame(views.Records), record, service.RecordKinds(), lines, total, r.Pager(page, total)))
}
