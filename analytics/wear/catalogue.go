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

// The families of coverings that defects are told apart by.
const (
	AsphaltStrip        = "asphalt_strip"
	AsphaltLaminated    = "asphalt_laminated"
	AsphaltInterlocking = "asphalt_interlocking"
	AsphaltOrganic      = "asphalt_organic"
	WoodShake           = "wood_shake"
	Metal               = "metal"
	Tile                = "tile"
	Slate               = "slate"
	LowSlopeMembrane    = "low_slope_membrane"
	Unknown             = "unknown"
)

// Families lists the families of coverings. The empty text means [Unknown].
func Families() []string { return slices.Clone(every) }

// Defect is an entry of the catalogue.
type Defect struct {
	Key    string    `json:"key"`
	Name   string    `json:"name"`
	Part   Part      `json:"part"`
	SeenBy []Method  `json:"seen_by"` // the methods that can show it
	Steps  [3]string `json:"steps"`   // what severity 1, 2 and 3 look like

	// Points taken off by severity 1, 2 and 3 when all of the slope shows it.
	Points [3]float64 `json:"points"`

	// Families are the coverings that can have it. With [Unknown] among them it
	// is looked for where the covering is not known.
	Families []string `json:"families"`

	NeedsDry bool `json:"needs_dry"` // cannot be read on a wet roof
}

// ShownBy says whether a method can show the defect.
func (d Defect) ShownBy(m Method) bool { return m == "" || slices.Contains(d.SeenBy, m) }

// JudgedBy says whether a method can judge the defect on a covering of the family:
// it shows it, and from the ground nobody sees a low slope.
func (d Defect) JudgedBy(m Method, family string) bool {
	return d.ShownBy(m) && !(m == Street && family == LowSlopeMembrane && d.Part == Covering)
}

// OccursOn says whether a covering of the family can have the defect; what is
// not known can have any.
func (d Defect) OccursOn(family string) bool {
	return family == "" || family == Unknown || slices.Contains(d.Families, family)
}

// The groups that the catalogue is written in.
var (
	every = []string{AsphaltStrip, AsphaltLaminated, AsphaltInterlocking, AsphaltOrganic, WoodShake, Metal, Tile, Slate,
		LowSlopeMembrane, Unknown}
	asphalt  = []string{AsphaltStrip, AsphaltLaminated, AsphaltInterlocking, AsphaltOrganic, Unknown}
	nailed   = slices.Concat(asphalt, []string{WoodShake})
	surfaced = slices.Concat(asphalt, []string{LowSlopeMembrane}) // asphalt under granules, or alone
	wood     = []string{WoodShake}
	metal    = []string{Metal}
	stone    = []string{Tile, Slate}
	membrane = []string{LowSlopeMembrane}

	anyhow   = []Method{Walked, Ladder, Photo, Street}
	near     = []Method{Walked, Ladder, Photo}
	byHand   = []Method{Walked, Ladder}
	above    = []Method{Walked, Photo}
	standing = []Method{Walked}
)

// The steps and the points are common practice and our own judgement; no
// source.
var catalogue = []Defect{
	{"granule_loss", "Granules lost", Covering, anyhow, [3]string{
		"granules lie in the gutter or thin spots show, no dark asphalt",
		"dark asphalt shows in spots smaller than a hand",
		"bald patches larger than a hand, or the mat shows"}, [3]float64{20, 50, 85}, surfaced, true},
	{"curling", "Edges curled up", Covering, anyhow, [3]string{
		"edges or corners lifted less than 1/4 in (6 mm), lie flat in the sun",
		"lifted 1/4 to 1/2 in (6 to 13 mm), still bend down by hand",
		"lifted more than 1/2 in (13 mm), or break when bent down"}, [3]float64{20, 50, 85}, asphalt, false},
	{"clawing", "Tabs clawed: ends down, middle up", Covering, near, [3]string{
		"the middle of the tab is humped, a coin just slides under",
		"a finger slides under the hump, the tab still bends",
		"the tab is stiff in its claw and cracks when pressed"}, [3]float64{20, 50, 80}, asphalt, false},
	{"cracking", "Cracked", Covering, near, [3]string{
		"hairlines in the surface, shorter than a finger",
		"cracks across a tab, the mat whole",
		"cracks through the mat, or pieces loose"}, [3]float64{25, 55, 90}, asphalt, false},
	{"blisters", "Blistered", Covering, near, [3]string{
		"closed blisters smaller than a pea",
		"closed blisters larger than a pea, or a few open",
		"open blisters with bare asphalt"}, [3]float64{10, 30, 60}, surfaced, false},
	{"exposed_nails", "Nail heads in the weather", Covering, near, [3]string{
		"heads show, sealed over",
		"heads show bare, no rust",
		"heads show rusted, or the hole around them is open"}, [3]float64{10, 25, 45}, slices.Concat(nailed, []string{Slate}), false},
	{"popped_nails", "Nails backed out under a shingle", Covering, near, [3]string{
		"a bump shows, the shingle over it is whole",
		"the shingle over it is lifted, not holed",
		"the head has come through the shingle over it"}, [3]float64{10, 30, 50}, nailed, false},
	{"lifted_tabs", "Tabs no longer stuck down", Covering, byHand, [3]string{
		"a light finger raises a corner, the rest holds; no seal is broken to look",
		"the tab rises at a touch, the strip dry or dirty",
		"stands open or flaps, or is creased at the top"}, [3]float64{15, 40, 75}, asphalt, false},
	{"missing_shingles", "Shingles missing", Covering, anyhow, [3]string{
		"part of a tab gone, the course below covers",
		"whole tabs gone, underlayment or the next course shows",
		"the deck shows"}, [3]float64{35, 65, 95}, nailed, false},
	{"hail_bruises", "Bruised by hail", Covering, byHand, [3]string{
		"marks that show and cannot be felt",
		"soft to the thumb, granules pressed in or gone, the mat whole",
		"the mat is broken, felt from above or seen from below"}, [3]float64{20, 50, 85}, asphalt, true},
	{"valley_wear", "Valley worn", Flashing, above, [3]string{
		"granules gone or coating thin along the run of the water",
		"asphalt or bare metal along the run of the water",
		"a split, a hole or an open edge"}, [3]float64{20, 50, 85}, every, false},
	{"lap_short", "Lap too short", Flashing, standing, [3]string{
		"shorter than asked by less than a quarter, dry below",
		"shorter than asked by a quarter to a half",
		"shorter than asked by more than a half, or turned against the water"}, [3]float64{15, 40, 70}, every, false},
	{"sealant_gone", "Sealant gone", Flashing, above, [3]string{
		"hard or cracked, still closed",
		"loose from one side",
		"open: daylight or a blade goes through"}, [3]float64{15, 35, 60}, every, false},
	{"rust", "Rusted metal", Flashing, near, [3]string{
		"stain or spots on the coating",
		"coating gone and scale, the metal still rings whole",
		"rusted through"}, [3]float64{10, 35, 80}, every, false},
	{"moss", "Moss", Covering, anyhow, [3]string{
		"a film in the joints",
		"cushions lower than 1/2 in (13 mm)",
		"cushions higher than that, or edges pushed up"}, [3]float64{5, 15, 35}, every, false},
	{"stains", "Stained", Covering, anyhow, [3]string{
		"faint streaks, seen when looked for",
		"dark streaks, seen from the street",
		"rust or soot that runs from a flashing or a vent"}, [3]float64{2, 6, 12}, every, true},
	{"gutter_debris", "Gutter filled", Gutter, byHand, [3]string{
		"less than a quarter of the depth",
		"a quarter to a half of the depth",
		"more than a half, an outlet blocked, or plants grow in it"}, [3]float64{10, 40, 70}, every, false},
	{"gutter_overshoot", "Water runs over or past the gutter", Gutter, anyhow, [3]string{
		"drip marks on the ground or the face of the gutter",
		"streaks on the fascia or the wall",
		"rot, washed ground at the wall, or seen running over in ordinary rain"}, [3]float64{15, 40, 70}, every, false},
	{"delamination", "Layers of the shingle coming apart", Covering, near, [3]string{
		"the glue line of an edge shows, the layers still touch",
		"a corner or an edge of the upper layer stands off, a blade goes between",
		"the upper layer is loose for a hand's breadth, slid or gone"}, [3]float64{20, 50, 80}, []string{AsphaltLaminated, AsphaltOrganic, Unknown}, false},
	{"high_nails", "Nails above the nailing line", Covering, standing, [3]string{
		"above the line by no more than a head, all else holds; seen where a tab is open already",
		"above the line, past the edge of the course or layer below",
		"above the line, and the shingle has slid or hangs"}, [3]float64{10, 30, 55}, []string{AsphaltStrip, AsphaltLaminated, AsphaltOrganic, Unknown}, false},
	{"locks_open", "Locks undone", Covering, near, [3]string{
		"a lock is slack, still hooked",
		"a lock has come out, the shingle lies flat",
		"locks are torn or out, and the shingle stands up"}, [3]float64{15, 40, 75}, []string{AsphaltInterlocking}, false},
	{"wood_split", "Shakes or shingles split", Covering, near, [3]string{
		"split from the end for less than a finger's length",
		"split the whole face, both halves lie tight",
		"split through and open, or a half gone: what is below shows"}, [3]float64{15, 45, 80}, wood, false},
	{"wood_cupped", "Shakes or shingles cupped", Covering, anyhow, [3]string{
		"edges up less than 1/4 in (6 mm)",
		"edges up 1/4 to 1 in (6 to 25 mm), nails hold",
		"edges up more than 1 in (25 mm), or nails drawn"}, [3]float64{15, 40, 75}, wood, false},
	{"wood_decayed", "Wood decayed", Covering, byHand, [3]string{
		"dark and soft at the end, a nail scratches it",
		"a nail goes in by hand at the end, the rest is sound",
		"crumbles, or is worn so thin that light comes through"}, [3]float64{25, 55, 90}, wood, false},
	{"metal_rust", "Panels rusted", Covering, anyhow, [3]string{
		"stain or spots at cut edges and scratches",
		"coating gone and scale, the panel still rings whole",
		"rusted through"}, [3]float64{15, 45, 90}, metal, false},
	{"loose_fasteners", "Fasteners loose", Covering, byHand, [3]string{
		"the washer is dry or cracked, the head sits tight",
		"the head turns by hand or stands off",
		"the fastener is gone, or its hole is worn wide"}, [3]float64{10, 35, 60}, metal, false},
	{"seam_open", "Seams open", Covering, above, [3]string{
		"a seam is dented or its edge stands off, still closed",
		"open for less than a hand's breadth, a blade goes in",
		"open for more than that, or unhooked"}, [3]float64{15, 45, 80}, metal, false},
	{"dents", "Dented", Covering, near, [3]string{
		"seen in low light only",
		"seen from any side, coating and seams whole",
		"the coating is broken, or a seam or lock is bent"}, [3]float64{3, 10, 40}, metal, false},
	{"coating_worn", "Coating worn", Covering, near, [3]string{
		"chalk comes off on a finger, or the colour has gone pale",
		"the primer or the zinc shows in spots",
		"it peels, or bare metal larger than a hand"}, [3]float64{5, 20, 45}, metal, true},
	{"tile_cracked", "Tiles or slates cracked", Covering, near, [3]string{
		"a hairline, or a corner gone that the next course covers",
		"cracked across, both pieces in place",
		"pieces gone or loose: what is below shows"}, [3]float64{15, 45, 80}, stone, false},
	{"tile_slipped", "Tiles or slates slipped or missing", Covering, anyhow, [3]string{
		"out of line by less than 1 in (25 mm), still lapped",
		"hangs by one fixing, or the lap is half gone",
		"fallen out: the underlayment, the battens or the deck show"}, [3]float64{20, 55, 95}, stone, false},
	{"tile_spalled", "Tiles or slates spalled", Covering, near, [3]string{
		"the surface comes off in flakes smaller than a coin",
		"flakes larger than that, the piece still rings when tapped",
		"layers off, edges crumble, or it sounds dull when tapped"}, [3]float64{15, 40, 75}, stone, false},
	{"membrane_split", "Membrane split or holed", Covering, above, [3]string{
		"a scuff or surface crack, the reinforcement does not show",
		"the reinforcement shows, nothing goes through",
		"a blade goes through"}, [3]float64{20, 50, 95}, membrane, false},
	{"membrane_seam_open", "Seams of the membrane open", Covering, above, [3]string{
		"the edge has lifted less than a finger's width",
		"the edge has lifted more than that, held further in",
		"open across the seam, or wrinkled into an open mouth"}, [3]float64{20, 50, 90}, membrane, false},
	{"ponding", "Water stands on it", Covering, above, [3]string{
		"a ring of dirt shows where water dries up",
		"water stands two days after rain, no deeper than a finger is thick",
		"deeper than that, plants grow in it, or the roof sags"}, [3]float64{10, 30, 55}, membrane, false},
	{"dead_valley_wear", "Dead valley worn", Flashing, above, [3]string{
		"dirt or leaves lie in it, its surface whole",
		"its surface is worn, cracked or blistered, or it stays wet two days after rain",
		"a split, a hole or an open edge, or it sags and holds water"}, [3]float64{20, 50, 85}, every, false},
	{"gutter_loose", "Gutter hangs loose", Gutter, anyhow, [3]string{
		"one hanger loose, the gutter in line",
		"hangers loose side by side, the gutter sags or leans",
		"it has come off the fascia, or could fall"}, [3]float64{15, 45, 80}, every, false},
	{"gutter_joints", "Gutter joints leak", Gutter, []Method{Walked, Ladder, Street}, [3]string{
		"a stain below a joint, dry now",
		"drips in rain, or its sealant is open",
		"runs in rain, or the joint has come apart"}, [3]float64{10, 30, 55}, every, false},
	{"gutter_rust", "Gutter rusted or holed", Gutter, byHand, [3]string{
		"stain, or the coating gone",
		"scale or pits, no hole",
		"a hole"}, [3]float64{10, 35, 70}, every, false},
}

var byKey = func() map[string]*Defect {
	all := make(map[string]*Defect, len(catalogue))
	for i := range catalogue {
		all[catalogue[i].Key] = &catalogue[i]
	}
	return all
}()

// Catalogue lists the defects of every covering. The keys are stable: they are
// kept with findings. The result is the caller's own.
func Catalogue() []Defect {
	return listed(func(*Defect) bool { return true })
}

// For lists the defects to look for on a covering of the family; with an empty
// one, or [Unknown], those of asphalt shingles. The result is the caller's own.
func For(family string) []Defect {
	return listed(func(d *Defect) bool { return d.askedOf(family) })
}

func (d *Defect) askedOf(family string) bool {
	if family == "" {
		family = Unknown
	}
	return slices.Contains(d.Families, family)
}

func listed(which func(*Defect) bool) []Defect {
	var out []Defect
	for i := range catalogue {
		if d := catalogue[i]; which(&d) {
			d.SeenBy, d.Families = slices.Clone(d.SeenBy), slices.Clone(d.Families)
			out = append(out, d)
		}
	}
	return out
}

func find(key string) (*Defect, bool) {
	d, known := byKey[key]
	return d, known
}
