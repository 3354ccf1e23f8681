package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/inputfile"
	"lampwright/internal/project"
	"lampwright/internal/review"
	"lampwright/internal/source"
	"lampwright/internal/store"
)

// Bounds of what a workspace keeps.
const (
	maxText = 1<<20 + 1 // one byte over what source reads, so that it can say that a file is too large
	maxPast = 200       // steps of undo
	// burst is how long after a save another one belongs to it, and takes no snapshot of its own.
	burst = time.Minute
	// solveTime ends a computation that nobody waits for any longer.
	solveTime = 10 * time.Minute
)

// workspace is one project folder, open.
type workspace struct {
	o       Options
	name    string
	root    *os.Root
	folder  fs.FS // the regular files of root
	hub     hub
	memory  store.Memory
	library *project.Library // the built-in one
	mine    ownLibrary
	files   fileMemory
	bench   benchMemory
	busy    chan struct{} // bounds computations at a time
	briefs  chan struct{} // bounds those that run or wait besides the long ones
	queue   queue         // of the long ones
	ctx     context.Context
	cancel  context.CancelFunc

	mu       sync.Mutex
	version  int // grows with whatever a page shows
	exists   bool
	text     []byte            // of the design file
	own      map[string][]byte // texts of the project's own parts files, by name: parts/own.yaml
	hash     string            // of all of these
	parts    string            // names, sizes and times of what lies in parts/
	readings []byte            // text of the readings file, of which the design is independent; nil where there is none
	unread   string            // why the readings file cannot be read
	problems source.Problems
	failed   string // why it could not be computed
	shown    *evaluated
	ranges   *figure.Evaluation // the last lamp of the file with ranges; a preview borrows them
	job      *job
	last     computedOf // the trial before
	traced   traced
	jobs     int
	lamps    int                     // that the file had so far
	past     []texts                 // texts before each change, the last one last
	future   []texts                 // what was undone
	outside  bool                    // the last change came from outside, which undo does not reach over
	kept     map[string]time.Time    // when a snapshot of a file was last taken
	seen     []seenTexts             // texts that a page may have tried values on, the last one last
	snaps    map[string]*source.File // snapshots that were read
}

// texts are files by name; nil means that the file does not exist.
type texts map[string][]byte

// evaluated is a lamp, computed and judged.
type evaluated struct {
	number   int    // no two have the same
	job      int    // that computed it
	of       string // hash of the text
	quick    bool   // without ranges and pictures, which follow
	result   *figure.Evaluation
	findings []finding.Finding
	view     *lampView
	sent     *lampView     // view as the state of the project has it
	snapshot *lampSnapshot // of view, from which previews differ; nil where it has no JSON
}

// job is a computation that goes on.
type job struct {
	ID      int    `json:"id"`
	Done    int    `json:"done"`
	Total   int    `json:"total"`
	For     string `json:"for,omitempty"`     // trial, or the key of a question; empty for the file's own
	Name    string `json:"name,omitempty"`    // of a question, in words
	Waiting bool   `json:"waiting,omitempty"` // for its turn
	Page    string `json:"page,omitempty"`    // that asks a question
	stop    context.CancelFunc
}

func openWorkspace(o Options) (*workspace, error) {
	root, err := os.OpenRoot(o.Folder)
	if err != nil {
		return nil, fmt.Errorf("open the project folder: %w", err)
	}
	w := &workspace{
		o: o, name: o.File, root: root, folder: inputfile.Root(root),
		memory: store.Memory{Store: o.Store}, busy: o.Busy, briefs: make(chan struct{}, maxBrief),
		kept: map[string]time.Time{},
	}
	if w.name == "" {
		w.name = project.DesignFile
	}
	if !filepath.IsLocal(w.name) || filepath.Base(w.name) != w.name {
		return nil, fmt.Errorf("the design file %q must be in the project folder itself", w.name)
	}
	var problems source.Problems
	if w.library, problems = project.LoadLibrary(nil, o.Library); len(problems) > 0 {
		return nil, fmt.Errorf("read the built-in parts: %w", problems)
	}
	// Numbers go on where those of a server before ended, so that a page that outlives it gets what is new.
	w.version = int(o.Now().UnixMilli())
	w.jobs, w.lamps = w.version, w.version
	w.clean()
	w.hub = hub{listeners: map[*listener]bool{}, onFirst: w.watch}
	w.queue.send = func(list []job) { w.hub.send("queue", list) }
	w.ctx, w.cancel = context.WithCancel(context.Background())
	return w, nil
}

func (w *workspace) close() {
	w.cancel()
	w.hub.close()
	w.root.Close()
}

// load reads the project from the disk, with the given texts in place of those on the disk.
func (w *workspace) load(design []byte, changed texts) (*project.Project, source.Problems) {
	if text, ok := changed[w.name]; ok {
		design = text
	}
	library, problems := w.libraryWith(changed)
	file, bad := w.files.read(w.name, design)
	if file == nil {
		return nil, append(problems, bad...)
	}
	p, problems := project.Of(file, library, problems)
	if text := changed[project.ReadingsFile]; p != nil && text != nil {
		if _, bad := project.LoadReadingsText(project.ReadingsFile, text, p); len(bad) > 0 {
			return nil, bad
		}
	}
	return p, problems
}

// ownLibrary is the parts library with the project's own parts, at a stamp.
type ownLibrary struct {
	mu      sync.Mutex
	stamp   string
	library *project.Library
}

// libraryWith returns the built-in parts with the project's own. While nothing in the folder of parts changes it is
// made
// once: a slider is not to read measured spectra and patterns at each step.
func (w *workspace) libraryWith(changed texts) (*project.Library, source.Problems) {
	for name := range changed {
		if name != w.name && name != project.ReadingsFile {
			return w.library.With(overlay{w.folder, changed})
		}
	}
	w.mine.mu.Lock()
	defer w.mine.mu.Unlock()
	stamp := w.partsStamp()
	if w.mine.library != nil && w.mine.stamp == stamp {
		return w.mine.library, nil
	}
	library, problems := w.library.With(w.folder)
	if w.mine.library = nil; len(problems) == 0 {
		w.mine.stamp, w.mine.library = stamp, library
	}
	return library, problems
}

// Bounds of a fileMemory: the text of the file, what is tried by two pages, and what they tried before.
const (
	maxRead     = 4
	maxReadText = 1 << 17
)

// fileMemory keeps the texts that were read last, taken apart. Nobody writes to what is kept. The zero fileMemory is
// ready, and several goroutines may share it.
type fileMemory struct {
	mu   sync.Mutex
	kept []readFile
}

type readFile struct {
	text []byte
	file *source.File
}

// read is source.Read.
func (m *fileMemory) read(name string, text []byte) (*source.File, source.Problems) {
	m.mu.Lock()
	for i := len(m.kept) - 1; i >= 0; i-- {
		if k := m.kept[i]; k.file.Name() == name && bytes.Equal(k.text, text) {
			m.kept = append(append(m.kept[:i:i], m.kept[i+1:]...), k)
			m.mu.Unlock()
			return k.file, k.file.Problems()
		}
	}
	m.mu.Unlock()
	f, problems := source.Read(name, text)
	if f != nil {
		m.put(text, f)
	}
	return f, problems
}

// put keeps a file that was read from a text.
func (m *fileMemory) put(text []byte, f *source.File) {
	if len(text) > maxReadText {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if len(m.kept) >= maxRead {
		m.kept = append([]readFile(nil), m.kept[1:]...)
	}
	m.kept = append(m.kept, readFile{text, f})
}

// now returns the number of the present version.
func (w *workspace) now() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.version
}

// watch looks at the files until nobody listens any longer.
func (w *workspace) watch(stop <-chan struct{}) {
	tick := time.NewTicker(w.o.Watch)
	defer tick.Stop()
	stamp := w.stamp()
	w.reload() // what changed since the page read the project
	for {
		select {
		case <-stop:
			return
		case <-tick.C:
			if s := w.stamp(); s != stamp {
				stamp = s
				w.reload()
			}
		}
	}
}

// stamp returns what changes when a file changes, without reading one.
func (w *workspace) stamp() string {
	s := w.partsStamp()
	for _, name := range []string{w.name, project.ReadingsFile} {
		if info, err := w.root.Stat(name); err == nil {
			s += fmt.Sprintln(name, info.Size(), info.ModTime().UnixNano())
		}
	}
	return s
}

// partsStamp looks at every file in parts/: parts name files of spectra and patterns beside them.
func (w *workspace) partsStamp() string {
	names, err := fs.Glob(w.folder, "parts/*")
	if err != nil {
		return ""
	}
	var b bytes.Buffer
	if info, err := w.root.Lstat("parts"); err == nil {
		fmt.Fprintln(&b, info.Mode()) // a folder that cannot be read is no empty one
	}
	for _, n := range names[:min(len(names), 4*project.MaxFiles)] {
		if info, err := w.root.Stat(n); err == nil {
			fmt.Fprintln(&b, n, info.Size(), info.ModTime().UnixNano())
		}
	}
	return b.String()
}

// read returns the design file as it is on the disk. It is opened within the folder: a link that leads out is refused.
func (w *workspace) read() ([]byte, error) { return readText(w.folder, w.name) }

// maxOwn bounds the bytes of parts files that are kept in memory to be edited; a file beyond it is read by project,
// and not edited.
const maxOwn = 16 << 20

// readOwn returns the project's own parts files.
func (w *workspace) readOwn() map[string][]byte {
	names, err := fs.Glob(w.folder, "parts/*.yaml")
	if err != nil || len(names) > project.MaxFiles {
		return nil
	}
	out, size := map[string][]byte{}, 0
	for _, n := range names {
		data, err := readText(w.folder, n)
		if size += len(data); err == nil && len(data) < maxText && size <= maxOwn {
			out[n] = data
		}
	}
	return out
}

// hashAll returns a hash of the design with its parts.
func hashAll(text []byte, own map[string][]byte) string {
	all := []byte(hashOf(text))
	for _, n := range slices.Sorted(maps.Keys(own)) {
		all = fmt.Append(all, "\n", hashOf(own[n]), n)
	}
	return hashOf(all)
}

// hashWith returns the hash of the project once these texts stand in it.
func (w *workspace) hashWith(changed texts) string {
	text, own := w.text, maps.Clone(w.own)
	for n, t := range changed {
		switch {
		case n == w.name:
			text = t
		case own == nil:
			own = map[string][]byte{n: t}
		default:
			own[n] = t
		}
	}
	return hashAll(text, own)
}

func hashOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:16])
}

// reload reads what has changed on the disk.
func (w *workspace) reload() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.reloadLocked()
}

func (w *workspace) reloadLocked() {
	w.reloadReadings()
	text, err := w.read()
	parts := w.partsStamp()
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if w.exists {
			w.keep(w.name, w.text)
			w.exists, w.text, w.hash, w.problems, w.failed = false, nil, "", nil, ""
			w.shown, w.ranges = nil, nil
			w.stopJob()
			w.changed()
		}
		return
	case err != nil:
		if w.failed != err.Error() {
			w.exists, w.failed = true, err.Error()
			w.changed()
		}
		return
	}
	own := w.own
	if parts != w.parts || !w.exists {
		own = w.readOwn()
	}
	hash := hashAll(text, own)
	if w.exists && hash == w.hash && parts == w.parts {
		return
	}
	if w.exists && hash != w.hash {
		// Another program changed a file. The text before is kept as a snapshot, and undo does not reach beyond it.
		// What it wrote has no snapshot yet: the next save takes one.
		if !bytes.Equal(text, w.text) {
			w.keep(w.name, w.text)
			delete(w.kept, w.name)
		}
		for n, before := range w.own {
			if !bytes.Equal(own[n], before) {
				w.keep(n, before)
				delete(w.kept, n)
			}
		}
		w.past, w.future, w.outside = nil, nil, true
	}
	w.adopt(text, own, parts)
}

// reloadReadings reads the readings file where another program has changed it: its text before is kept as a snapshot,
// and undo does not reach beyond it.
func (w *workspace) reloadReadings() {
	text, err := readText(w.folder, project.ReadingsFile)
	unread := ""
	if err != nil {
		text = nil
		if !errors.Is(err, fs.ErrNotExist) {
			unread = err.Error()
		}
	} else if text == nil {
		text = []byte{} // an empty file
	}
	if (text == nil) == (w.readings == nil) && bytes.Equal(text, w.readings) && unread == w.unread {
		return
	}
	if w.exists {
		w.keep(project.ReadingsFile, w.readings)
		delete(w.kept, project.ReadingsFile)
		w.past, w.future, w.outside = nil, nil, true
	}
	w.readings, w.unread = text, unread
	w.changed()
}

// adopt makes these texts the present ones and begins to compute them.
func (w *workspace) adopt(text []byte, own map[string][]byte, parts string) {
	w.exists, w.text, w.own, w.hash, w.parts = true, text, own, hashAll(text, own), parts
	w.rememberTexts()
	w.begin()
}

// changed informs every page that there is a new version to fetch.
func (w *workspace) changed() {
	w.version++
	w.hub.send("version", w.version)
}

func (w *workspace) stopJob() {
	if w.job != nil {
		w.job.stop()
		w.job = nil
	}
}

// errFault reports a panic of the program.
var errFault = errors.New("the program failed on this design: an internal error; saved files are intact")

// begin computes the present text in the background. What was shown stays until it is done.
func (w *workspace) begin() {
	w.stopJob()
	w.failed = ""
	p, problems := w.load(w.text, nil)
	w.problems = problems
	if p == nil {
		w.changed()
		return
	}
	ctx, stop := context.WithTimeout(w.ctx, solveTime)
	w.jobs++
	j := &job{ID: w.jobs, stop: stop}
	w.job = j
	of := w.hash
	w.changed()
	go func() {
		defer stop()
		progress := func(done, total int) { w.progress(j, done, total) }
		// Figures first; ranges, pictures and the search for heights take ten times as long.
		for _, quick := range []bool{true, false} {
			samples := 0
			if quick {
				samples = -1
			}
			r, findings, err := w.evaluateFile(ctx, p, samples, progress)
			e := &evaluated{job: j.ID, of: of, quick: quick, result: r, findings: findings}
			if err == nil {
				_, err = guarded(func() (any, error) {
					e.view = newLampView(r, findings, !quick)
					e.snapshot, _ = newLampSnapshot(e.view)
					return nil, nil
				})
			}
			if !w.show(j, e, err) {
				return
			}
		}
	}()
}

// show takes over what a job has found; it is false where the job is at its end, was stopped, or overtaken.
func (w *workspace) show(j *job, e *evaluated, err error) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.job != j {
		return false
	}
	if err != nil {
		w.job, w.failed = nil, err.Error()
		w.changed()
		return false
	}
	w.lamps++
	e.number, e.view.Number = w.lamps, w.lamps
	e.sent = e.view.forState()
	w.shown = e
	if !e.quick {
		w.job, w.ranges = nil, e.result
	}
	w.changed()
	return e.quick
}

// progress sends the progress of a job to every page.
func (w *workspace) progress(j *job, done, total int) {
	w.mu.Lock()
	j.Done, j.Total = done, total
	snapshot := *j
	w.mu.Unlock()
	w.hub.send("progress", snapshot)
}

// sampled is the last lamp of the file that has ranges; nil where there was none.
func (w *workspace) sampled() *figure.Evaluation {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.ranges
}

// evaluateFile is evaluate for the project of the file, which waits for room among the computations.
func (w *workspace) evaluateFile(ctx context.Context, p *project.Project, samples int,
	progress func(done, total int),
) (*figure.Evaluation, []finding.Finding, error) {
	select {
	case w.busy <- struct{}{}:
		defer func() { <-w.busy }()
	case <-ctx.Done():
		return nil, nil, ctx.Err()
	}
	return w.evaluate(ctx, p, samples, progress)
}

// options returns how lamps are evaluated, with a memory of unit responses.
func (w *workspace) options(memory *store.Memory) engine.Options {
	return engine.Options{Solver: memory, Calibration: w.o.Calibration}
}

// evaluate computes and judges a project; samples as in engine.Options. Without samples it is quick: fixes name no
// height, and ranges, which findings depend on, are those of the last lamp of the file, moved with the values.
func (w *workspace) evaluate(ctx context.Context, p *project.Project, samples int,
	progress func(done, total int),
) (r *figure.Evaluation, findings []finding.Finding, err error) {
	defer func() {
		if recover() != nil {
			r, findings, err = nil, nil, errFault
		}
	}()
	o := w.options(&w.memory)
	o.Samples, o.Preview, o.Progress = samples, samples < 0, progress
	r, err = figure.Evaluate(ctx, p, o)
	if err != nil {
		return nil, nil, err
	}
	if from := w.sampled(); samples < 0 && from != nil {
		r.BorrowRanges(from)
	}
	findings = review.Review(ctx, r)
	return r, findings, ctx.Err() // findings of a review that was stopped are not whole
}
