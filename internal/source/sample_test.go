package source

// sample is a struct with every kind of field, for the tests.
type sample struct {
	At       Pos       // the place of the whole
	Version  Whole     `yaml:"version" need:"yes" min:">=1" max:"<=3" doc:"version of the format" eg:"1"`
	Name     Text      `yaml:"name" need:"yes" doc:"what you call it" eg:"Blue | white"`
	Kind     Text      `yaml:"kind" one:"tank|bench" doc:"what it hangs over"`
	Lit      Flag      `yaml:"lit" doc:"whether it is on"`
	Current  Value     `yaml:"current" dim:"current" min:">0" max:"<=50 A" doc:"mean current" eg:"2.1 A"`
	Room     Value     `yaml:"room" dim:"temperature" doc:"air" eg:"22 °C"`
	Rise     Value     `yaml:"rise" dim:"temperature difference" min:">=0 K" doc:"over the room"`
	Share    Value     `yaml:"share" dim:"ratio" max:"<=100 %" doc:"of the light"`
	Ra       Value     `yaml:"ra" dim:"none" max:"<=100" doc:"colour rendering" eg:"80"`
	Steps    []Value   `yaml:"steps" dim:"time" doc:"times" eg:"2 h"`
	Labels   []Text    `yaml:"labels" doc:"words"`
	Counts   []Whole   `yaml:"counts" min:">=0" doc:"numbers"`
	Offset   Point     `yaml:"offset" doc:"from the centre" eg:"[0 mm, 0 mm]"`
	Places   []Point   `yaml:"places" doc:"where they sit"`
	Voltage  Curve     `yaml:"voltage" x:"current" y:"voltage" doc:"against current"`
	Price    Curve     `yaml:"price" x:"length" y:"money" minpoints:"1" doc:"against thickness"`
	Inside   size      `yaml:"inside" doc:"inner size"`
	Fan      *fan      `yaml:"fan" doc:"where there is one"`
	Channels []channel `yaml:"channels" need:"yes" doc:"what dims together"`
	Note     string    // no key: left alone
	Skipped  int       `yaml:"-"`
}

type size struct {
	Length Value `yaml:"length" dim:"length" need:"yes" min:">0" doc:"along x" eg:"600 mm"`
	Width  Value `yaml:"width" dim:"length" min:">=1 mm" doc:"along y"`
}

type common struct {
	ID   Text `yaml:"id" need:"yes" doc:"its name" eg:"fan-92"`
	Cost Text `yaml:"cost" doc:"what it costs"`
}

type fan struct {
	common `yaml:",inline"`
	Speed  Value `yaml:"speed" dim:"rotation" doc:"rated" eg:"1800 rpm"`
}

type channel struct {
	At      Pos
	Name    Text  `yaml:"name" need:"yes" doc:"what you call it"`
	Current Value `yaml:"current" dim:"current" need:"yes" doc:"the driver's output" eg:"700 mA"`
	Size    *size `yaml:"size" doc:"of it"`
}
