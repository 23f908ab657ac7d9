package wear

import "slices"

// Part is what a defect speaks of.
type Part string

// The parts of a roof that are rated apart.
const (
	Covering Part = "covering"
	Flashing Part = "flashing"
	Gutter   Part = "gutter"
)

// Parts lists the parts in the order of a result.
func Parts() []Part { return []Part{Covering, Flashing, Gutter} }

// Method is how a roof was looked at.
type Method string

// The methods. The empty text is not known: every finding is then taken as it
// stands and read with the error of a look from the street.
const (
	Walked Method = "walked" // on the roof
	Ladder Method = "ladder" // from a ladder at the eave
	Street Method = "street" // from the ground
	Photo  Method = "photo"  // from pictures of the slopes
)

// Defect is an entry of the catalogue.
type Defect struct {
	Key    string    `json:"key"`
	Name   string    `json:"name"`
	Part   Part      `json:"part"`
	SeenBy []Method  `json:"seen_by"` // the methods that can show it
	Steps  [3]string `json:"steps"`   // what severity 1, 2 and 3 look like

	// Points taken off by severity 1, 2 and 3 when all of the slope shows it.
	Points [3]float64 `json:"points"`
}

// ShownBy says whether a method can show the defect.
func (d Defect) ShownBy(m Method) bool { return m == "" || slices.Contains(d.SeenBy, m) }

// The steps and the points are common practice and our own judgement; no
// source.
var catalogue = []Defect{
	{"granule_loss", "Granules lost", Covering, []Method{Walked, Ladder, Photo, Street}, [3]string{
		"granules lie in the gutter or thin spots show, no dark asphalt",
		"dark asphalt shows in spots smaller than a hand",
		"bald patches larger than a hand, or the mat shows"}, [3]float64{20, 50, 85}},
	{"curling", "Edges curled up", Covering, []Method{Walked, Ladder, Photo, Street}, [3]string{
		"edges or corners lifted less than 1/4 in (6 mm), lie flat in the sun",
		"lifted 1/4 to 1/2 in (6 to 13 mm), still bend down by hand",
		"lifted more than 1/2 in (13 mm), or break when bent down"}, [3]float64{20, 50, 85}},
	{"clawing", "Tabs clawed: ends down, middle up", Covering, []Method{Walked, Ladder, Photo}, [3]string{
		"the middle of the tab is humped, a coin just slides under",
		"a finger slides under the hump, the tab still bends",
		"the tab is stiff in its claw and cracks when pressed"}, [3]float64{20, 50, 80}},
	{"cracking", "Cracked", Covering, []Method{Walked, Ladder, Photo}, [3]string{
		"hairlines in the surface, shorter than a finger",
		"cracks across a tab, the mat whole",
		"cracks through the mat, or pieces loose"}, [3]float64{25, 55, 90}},
	{"blisters", "Blistered", Covering, []Method{Walked, Ladder, Photo}, [3]string{
		"closed blisters smaller than a pea",
		"closed blisters larger than a pea, or a few open",
		"open blisters with bare asphalt"}, [3]float64{10, 30, 60}},
	{"exposed_nails", "Nail heads in the weather", Covering, []Method{Walked, Ladder, Photo}, [3]string{
		"heads show, sealed over",
		"heads show bare, no rust",
		"heads show rusted, or the hole around them is open"}, [3]float64{10, 25, 45}},
	{"popped_nails", "Nails backed out under a shingle", Covering, []Method{Walked, Ladder, Photo}, [3]string{
		"a bump shows, the shingle over it is whole",
		"the shingle over it is lifted, not holed",
		"the head has come through the shingle over it"}, [3]float64{10, 30, 50}},
	{"lifted_tabs", "Tabs no longer stuck down", Covering, []Method{Walked, Ladder}, [3]string{
		"lifts by hand with some pull, the strip still tacky",
		"lifts freely, the strip dry or dirty",
		"stands open or flaps, or is creased at the top"}, [3]float64{15, 40, 75}},
	{"missing_shingles", "Shingles missing", Covering, []Method{Walked, Ladder, Photo, Street}, [3]string{
		"part of a tab gone, the course below covers",
		"whole tabs gone, underlayment or the next course shows",
		"the deck shows"}, [3]float64{35, 65, 95}},
	{"hail_bruises", "Bruised by hail", Covering, []Method{Walked, Ladder}, [3]string{
		"marks that show and cannot be felt",
		"soft to the thumb, granules pressed in or gone, the mat whole",
		"the mat is broken, felt from above or seen from below"}, [3]float64{20, 50, 85}},
	{"valley_wear", "Valley worn", Flashing, []Method{Walked, Photo}, [3]string{
		"granules gone or coating thin along the run of the water",
		"asphalt or bare metal along the run of the water",
		"a split, a hole or an open edge"}, [3]float64{20, 50, 85}},
	{"lap_short", "Lap too short", Flashing, []Method{Walked}, [3]string{
		"shorter than asked by less than a quarter, dry below",
		"shorter than asked by a quarter to a half",
		"shorter than asked by more than a half, or turned against the water"}, [3]float64{15, 40, 70}},
	{"sealant_gone", "Sealant gone", Flashing, []Method{Walked, Photo}, [3]string{
		"hard or cracked, still closed",
		"loose from one side",
		"open: daylight or a blade goes through"}, [3]float64{15, 35, 60}},
	{"rust", "Rusted metal", Flashing, []Method{Walked, Ladder, Photo}, [3]string{
		"stain or spots on the coating",
		"coating gone and scale, the metal still rings whole",
		"rusted through"}, [3]float64{10, 35, 80}},
	{"moss", "Moss", Covering, []Method{Walked, Ladder, Photo, Street}, [3]string{
		"a film in the joints",
		"cushions lower than 1/2 in (13 mm)",
		"cushions higher than that, or edges pushed up"}, [3]float64{5, 15, 35}},
	{"stains", "Stained", Covering, []Method{Walked, Ladder, Photo, Street}, [3]string{
		"faint streaks, seen when looked for",
		"dark streaks, seen from the street",
		"rust or soot that runs from a flashing or a vent"}, [3]float64{2, 6, 12}},
	{"gutter_debris", "Gutter filled", Gutter, []Method{Walked, Ladder}, [3]string{
		"less than a quarter of the depth",
		"a quarter to a half of the depth",
		"more than a half, an outlet blocked, or plants grow in it"}, [3]float64{10, 40, 70}},
	{"gutter_overshoot", "Water runs over or past the gutter", Gutter, []Method{Walked, Ladder, Photo, Street}, [3]string{
		"drip marks on the ground or the face of the gutter",
		"streaks on the fascia or the wall",
		"rot, washed ground at the wall, or seen running over in ordinary rain"}, [3]float64{15, 40, 70}},
}

// Catalogue lists the defects. The keys are stable: they are kept with findings.
// The result is the caller's own.
func Catalogue() []Defect {
	all := slices.Clone(catalogue)
	for i := range all {
		all[i].SeenBy = slices.Clone(all[i].SeenBy)
	}
	return all
}

func find(key string) (Defect, bool) {
	i := slices.IndexFunc(catalogue, func(d Defect) bool { return d.Key == key })
	if i < 0 {
		return Defect{}, false
	}
	return catalogue[i], true
}
