package report

import (
	"crypto/sha256"
	_ "embed" // build sheet and its style
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"sync"

	"lampwright/internal/draw"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/study"
)

//go:embed build.html
var buildHTML string

//go:embed build.css
var buildCSS string

var buildPage = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("build").Funcs(template.FuncMap{"prose": prose}).Parse(buildHTML))
})

// Sizes of the build sheet [px]; 96 px are 25.4 mm on paper. A page is A4 less margins of 12 mm.
const (
	sheetW, sheetH = 703.0, 1026.0
	pxPerM         = 96 / 0.0254
)

// buildView is what the build sheet shows, all as text.
type buildView struct {
	Style        template.HTML
	Policy       string
	Name         string
	Made         string
	Program      string
	Alerts       []string // stops, missing data, fictitious parts
	Orders       []sheetOrder
	Roomy        bool
	MoreOrders   int
	Total        string
	Unpriced     int
	Circuit      template.HTML
	CircuitNotes []string
	Placement    template.HTML
	Scale        string
	Beside       bool
	Columns      [][]sheetPoint
	MorePoints   int
	Legend       []string
	BoardNotes   []string
	Strings      []sheetString
	Short        bool // one current of each string
	MoreStrings  int
	AirT         string
	Steps        []string
}

// sheetOrder is one line of the order list.
type sheetOrder struct {
	Number                                     int
	Count, Part, What, Note, From, Each, Total string
}

// sheetPoint is one emitter of the table of positions.
type sheetPoint struct{ Code, X, Y string }

// sheetString is what is expected of the strings of a channel on a bench supply.
type sheetString struct {
	Code, Channel, Each, LimitV, DieV string
	At                                []sheetReading
}

type sheetReading struct{ Current, Expected, Range string }

// BuildSheet writes the build sheet as one self-contained HTML file of two A4 pages: order list and wiring; placement
// and first power-up. What does not fit on them is counted, and in the CSV files.
func BuildSheet(w io.Writer, r *figure.Evaluation, findings []finding.Finding, o Options) error {
	b := &sheetBuilder{r: r, v: buildView{Name: r.Name, Made: o.Made, Program: o.Program}}
	if b.v.Name == "" {
		b.v.Name = "Unnamed lamp"
	}
	b.alerts(findings)
	b.first()
	b.second()
	sum := sha256.Sum256([]byte(buildCSS))
	b.v.Policy = "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) +
		"'; base-uri 'none'; form-action 'none'"
	b.v.Style = template.HTML("<style>" + buildCSS + "</style>")
	if err := buildPage().Execute(w, &b.v); err != nil {
		return fmt.Errorf("write build sheet of %q: %w", r.Name, err)
	}
	return nil
}

// sheetBuilder makes a buildView.
type sheetBuilder struct {
	r *figure.Evaluation
	v buildView
}

// code is the short name of an emitter on the sheet: a letter for its channel and its number in it.
func code(channel, n int) string { return channelCode(channel) + fmt.Sprint(n+1) }

// channelCode returns A to Z, then A2, B2 and so on with a stroke.
func channelCode(channel int) string {
	letter := string(rune('A' + channel%26))
	if turn := channel / 26; turn > 0 {
		return fmt.Sprintf("%s%d/", letter, turn+1)
	}
	return letter
}

// alerts are what must be read before anything is bought.
func (b *sheetBuilder) alerts(findings []finding.Finding) {
	count := finding.Count(findings)
	if n := count[finding.Stop]; n > 0 {
		text := "The review has " + counted(n, "stop")
		if w := count[finding.Warn]; w > 0 {
			text += " and " + counted(w, "warning")
		}
		b.v.Alerts = append(b.v.Alerts, text+". Do not order or build before the stops are resolved.")
	}
	if list := b.r.Fictitious(); len(list) > 0 {
		b.v.Alerts = append(b.v.Alerts, counted(len(list), "part")+" of this list do not exist (fictitious): replace "+
			"them by parts with real datasheets.")
	}
}

// Heights of the parts of the first page [px], as build.css has them.
const (
	headH, alertH      = 54.0, 21.0
	headingH           = 30.0
	orderH, orderRoomH = 16.0, 20.0
	orderTableH        = 68.0 // head, total and what stands below it
	lineH, noteGapH    = 14.5, 2.0
	closingNoteH       = 3*lineH + noteGapH
	maxNotes           = 7
	maxOutputs         = 8
)

// first fills the first page: the wiring as high as the order list leaves it room.
func (b *sheetBuilder) first() {
	lines := project.BillOfMaterials(b.r.Lamp.Project.Library, b.r.Lamp.Design, project.Order{})
	c, notes := b.circuit()
	c.Width = sheetW
	room := sheetH - headH - alertH*float64(len(b.v.Alerts)) - 2*headingH - orderTableH - notesH(notes) -
		closingNoteH
	var picture draw.Picture
	for _, c.RowPx = range []float64{88, 76, 66, 58, 52, 48} {
		picture = draw.CircuitPicture(c)
		if picture.Height+orderH*float64(len(lines)) <= room {
			break
		}
	}
	b.v.Circuit, b.v.CircuitNotes = template.HTML(picture.InlineAtSize()), notes
	room -= picture.Height
	b.v.Roomy = orderRoomH*float64(len(lines)) <= room
	b.orders(lines, int(room/orderH))
}

// orders fills the order list with at most that many lines.
func (b *sheetBuilder) orders(lines []project.OrderLine, most int) {
	sum := 0.0
	for i := range lines {
		o := &lines[i]
		x := sheetOrder{
			Number: i + 1, Count: fmt.Sprint(o.Count), What: o.What, Note: o.Note, Each: "no price", Total: "–",
			From: fromOf(o),
		}
		if o.Kind == kindWire {
			x.Count, x.Note = x.Count+"\u00a0m", "pair"
		}
		if o.Part != nil {
			x.Part = o.Part.ID.S
		}
		if o.Priced {
			x.Each, x.Total = text(o.Each, quantity.Money), text(o.Total(), quantity.Money)
			sum += o.Total()
		} else {
			b.v.Unpriced++
		}
		if i < most {
			b.v.Orders = append(b.v.Orders, x)
		} else {
			b.v.MoreOrders++
		}
	}
	b.v.Total = text(sum, quantity.Money)
}

// powerUp fills the table of the first power-up, and returns its height [px].
func (b *sheetBuilder) powerUp(p study.PowerUp) float64 {
	const full, short = 5, 12 // channels with all currents, and with the first
	b.v.Short = len(p.Strings) > full
	b.v.AirT = kelvin(p.AirK)
	for i, s := range p.Strings {
		if i == short {
			b.v.MoreStrings = len(p.Strings) - short
			break
		}
		x := sheetString{
			Code: channelCode(i), Channel: s.Channel, LimitV: text(s.LimitV, quantity.Voltage),
			DieV: text(s.ShortedV, quantity.Voltage),
		}
		if s.Count > 1 {
			x.Each = fmt.Sprintf("each of %d", s.Count)
		}
		for _, at := range s.At {
			x.At = append(x.At, sheetReading{
				text(at.CurrentA, quantity.Current), text(at.VoltageV, quantity.Voltage),
				span(at.MinV, at.MaxV, quantity.Voltage),
			})
			if b.v.Short {
				break
			}
		}
		b.v.Strings = append(b.v.Strings, x)
	}
	row := 32.0
	if b.v.Short {
		row = 17
	}
	return 36 + row*float64(len(b.v.Strings))
}
