package server

import (
	"fmt"
	"io"
	"time"

	"overhang/models"
	"overhang/models/intake"
	"overhang/server/service"
	"overhang/views"
)

const csvType = "text/csv; charset=utf-8"

func (s *Server) intakeRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/records/import", Need: service.Import, Handle: s.showImport},
		{Method: "POST", Path: "/records/import", Need: service.Import, Handle: s.importFile, BodyLimit: views.MostUpload << 20, Deadline: 10 * time.Minute},
		{Method: "GET", Path: "/records/kinds/:kind", Need: service.Import, Example: "/records/kinds/roofs", Handle: s.showKind},
		{Method: "GET", Path: "/records/templates/:kind", Need: service.Import, Example: "/records/templates/roofs", Handle: s.sendTemplate},
		{Method: "GET", Path: "/records/export", Need: service.Export, Handle: s.listExports},
		{Method: "GET", Path: "/records/export/:kind", Need: service.Export, Example: "/records/export/coverings", Handle: s.exportFile, Deadline: 5 * time.Minute},
	}
}

func (s *Server) showImport(r *Request) error {
	return r.Render(views.NewImportPage(r.Frame(views.Records), intake.Kinds(), r.Query("kind"), nil))
}

// importFile answers with the report itself and does not lead on: it is the
// report of this file, and sending the form once more changes nothing.
func (s *Server) importFile(r *Request) error {
	form := r.Form()
	kind, file, do := form.Text("kind"), form.File("file"), form.Text("do")
	if kind == "" {
		form.Refuse("kind", "choose what the file holds")
	}
	if file.Name == "" {
		form.Refuse("file", "choose a file")
	}
	if do != views.CheckOnly && do != views.CheckAndWrite {
		form.Refuse("do", "choose one of the two")
	}
	if err := form.Err(); err != nil {
		page := views.NewImportPage(r.Frame(views.Records), intake.Kinds(), kind, nil)
		return r.Refused(page, page.Form, err)
	}
	content, err := file.Open()
	if err != nil {
		return fmt.Errorf("opening the file that was sent: %w", err)
	}
	defer content.Close()
	report, err := s.service.Import(r.ctx, r.Actor, kind, file.Name, content, do == views.CheckOnly, nil)
	if err != nil {
		return err
	}
	page := views.NewImportPage(r.Frame(views.Records), intake.Kinds(), kind, &report)
	if !report.OK() {
		return r.render(statuses[models.Invalid], page)
	}
	return r.Render(page)
}

func (s *Server) showKind(r *Request) error {
	name := r.Param("kind")
	for _, k := range intake.Kinds() {
		if k.Name == name {
			return r.Render(views.NewKindPage(r.Frame(views.Records), k))
		}
	}
	return intake.UnknownKind(name)
}

func (s *Server) sendTemplate(r *Request) error {
	name := r.Param("kind")
	template, err := intake.Template(name)
	if err != nil {
		return err
	}
	return r.Download(name+".csv", csvType, func(w io.Writer) error {
		_, err := w.Write(template)
		return err
	})
}

func (s *Server) listExports(r *Request) error {
	var kinds []intake.Kind
	for _, k := range intake.Kinds() {
		if r.Actor.MayExport(k.Name) {
			kinds = append(kinds, k)
		}
	}
	return r.Render(views.NewExportPage(r.Frame(views.Records), kinds))
}

func (s *Server) exportFile(r *Request) error {
	name := r.Param("kind")
	return r.Download(fmt.Sprintf("%s-%s.csv", name, r.Today), csvType, func(w io.Writer) error {
		return s.service.Export(r.ctx, r.Actor, name, w)
	})
}
