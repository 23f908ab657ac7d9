package views

import "overhang/models"

var galleryPeople = []models.Person{
	{Row: models.Row{ID: 1, Version: 1}, Name: "Ines Marlow", Email: "ines@example.test", Roles: models.Roles{models.Owner, models.Office}},
	{Row: models.Row{ID: 2, Version: 1}, Name: "Tove Lindqvist", Email: "tove@example.test", Roles: models.Roles{models.Seller}, EndedOn: galleryDay}}

func samplePeople(f Frame) Page { return NewPeoplePage(recordsFrame(f), galleryPeople) }

func samplePerson(f Frame) Page {
	return NewPersonPage(recordsFrame(f), &galleryPeople[0], "http://127.0.0.1:8080/new-password?token=Jx3vN0c4Qm9TqKQw2e7y5H1dLz8RbVfUoA6sGhPiEtk")
}
