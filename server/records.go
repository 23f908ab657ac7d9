package server

import (
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) recordsRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/records", Need: service.SeeRecords, Handle: s.showRecords},
		{Method: "GET", Path: "/records/trail", Need: service.EditSettings, Handle: s.showTrail},
	}
}

func (s *Server) showRecords(r *Request) error {
	state, err := s.service.Records(r.ctx, r.Actor)
	if err != nil {
		return err
	}
	var parts []views.Part
	for _, p := range []struct {
		need service.Permission
		part views.Part
	}{
		{service.Import, views.ImportPart}, {service.Export, views.ExportPart},
		{service.SeeRecords, views.CoveringsPart}, {service.SeePromises, views.TermsPart},
		{service.SeeRoofs, views.LivesPart}, {service.EditPeople, views.PeoplePart}, {service.EditSettings, views.SettingsPart}, {service.EditSettings, views.TrailPart},
	} {
		if r.Actor.May(p.need) {
			parts = append(parts, p.part)
		}
	}
	return r.Render(views.NewRecordsPage(r.Frame(views.Records), state.Roofs, state.Imports, state.Runs, parts...))
}
