package cli

import (
	"context"
	"fmt"
	"io/fs"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"lampwright/examples"
	"lampwright/internal/inputfile"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/web"
)

type serveCmd struct {
	Path   string   `arg:"" optional:"" default:"." help:"Project folder or design file; an empty folder offers templates."`
	Other  []string `arg:"" optional:"" help:"Further project folders or design files to compare with (read only)."`
	Open   bool     `negatable:"" default:"true" help:"Open the page in the browser."`
	Listen string   `default:"127.0.0.1:0" help:"Listen address; an address that other machines can reach gets a token. Port 0 selects a free port."`
	Token  string   `placeholder:"TOKEN" help:"Access token; default: random. Used only if other machines can reach the address."`
}

// Run serves the workspace of a project until it is interrupted.
func (c *serveCmd) Run(r *run) error {
	dir, name, err := folderOf(c.Path)
	if err != nil {
		return err
	}
	var others []web.Other
	for _, given := range c.Other {
		folder, file, err := folderOf(given)
		if err != nil {
			return err
		}
		root, err := os.OpenRoot(folder)
		if err != nil {
			return err
		}
		defer root.Close()
		if _, err := root.Stat(file); err != nil {
			return fmt.Errorf("compare with %s: %w", given, err)
		}
		others = append(others, web.Other{Title: given, Folder: inputfile.Root(root), File: file})
	}
	l, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return fmt.Errorf("listen on %s: %w; set another address with --listen", c.Listen, err)
	}
	defer l.Close()
	at := l.Addr().(*net.TCPAddr)
	local := at.IP
	if local.IsUnspecified() {
		local = net.IPv4(127, 0, 0, 1)
	}
	token := ""
	if !at.IP.IsLoopback() {
		if token = c.Token; token == "" {
			token = web.NewToken()
		}
	}
	page := pageAt(local, at.Port, token)
	s, err := web.New(web.Options{
		Folder: dir, File: name, Library: partslib.Files(), Templates: beginnings(), Others: others,
		Store: r.solver(c.Path).Store, Addr: at, Token: token, Recent: recentFile(),
	})
	if err != nil {
		return err
	}
	r.println(fmt.Sprintf("%s is open at %s", filepath.Join(dir, name), page))
	if token != "" {
		if err := r.printReach(at, token); err != nil {
			return err
		}
	}
	r.println("Ctrl-C stops the server.")
	if c.Open {
		open(r.ctx, page)
	}
	return s.Serve(r.ctx, l)
}

// recentFile returns where the projects that were opened are remembered; empty where the system has no place for it.
func recentFile() string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "lampwright", "recent.json")
}

// printReach prints the addresses for other machines, such as a phone, with a QR code of the first.
func (r *run) printReach(at *net.TCPAddr, token string) error {
	list := []reach{{ip: at.IP}}
	if at.IP.IsUnspecified() {
		var err error
		list, err = reachable(at.IP)
		switch {
		case err != nil: // some systems do not permit it
			r.println("The addresses of this machine cannot be listed: " + err.Error())
		case len(list) == 0:
			r.println("This machine has no address on a network: other machines cannot reach it.")
		default:
			r.println("Addresses for other machines on the network, such as a phone:")
		}
		for _, to := range list {
			r.println("  " + to.name + "  " + pageAt(to.ip, at.Port, token))
		}
	}
	r.println("Other machines on the network can reach this server. Access needs the token in the address; the " +
		"connection is not encrypted.")
	if len(list) == 0 {
		return nil
	}
	return r.printQR(pageAt(list[0].ip, at.Port, token))
}

// folderOf returns the folder of a project and the name of its design file.
func folderOf(path string) (dir, name string, err error) {
	info, err := os.Stat(path)
	if err != nil {
		return "", "", fmt.Errorf("open %s: %w; create the folder first, or give an existing one", path, err)
	}
	dir, name = path, project.DesignFile
	if !info.IsDir() {
		dir, name = filepath.Dir(path), filepath.Base(path)
	}
	dir, err = filepath.Abs(dir)
	return dir, name, err
}

// open asks the system to open an address in the browser. If that fails, the terminal still shows the address.
func open(ctx context.Context, address string) {
	name, args := "xdg-open", []string{address}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", address}
	}
	cmd := exec.CommandContext(ctx, name, args...)
	if cmd.Start() == nil {
		go func() { _ = cmd.Wait() }() // its exit status does not matter
	}
}

// beginnings returns the templates for an empty folder.
func beginnings() []web.Template {
	demo := func(key, title, about string) web.Template {
		files := map[string][]byte{}
		err := fs.WalkDir(examples.Files, key, func(name string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() {
				return err
			}
			data, err := examples.Files.ReadFile(name)
			files[strings.TrimPrefix(name, key+"/")] = data
			return err
		})
		if err != nil {
			panic("cli: " + err.Error())
		}
		return web.Template{Key: key, Title: title, About: about, Files: files}
	}
	return []web.Template{
		demo("long-tank-first", "Demo: long planted tank, first version",
			"A first draft with typical design errors; the review finds them."),
		demo("long-tank", "Demo: long planted tank", "The corrected version for the same tank: no stops."),
		demo("rain-wall", "Demo: rain-forest wall", "One tilted lamp over a terrarium with a planted wall."),
		demo("moss-jar-first", "Demo: moss jar, first version", "A small lamp with a few hidden errors."),
		demo("moss-jar", "Demo: moss jar", "The corrected version of the small lamp."),
		demo("propagation-bench-first", "Demo: propagation bench, first version",
			"A panel with a part typed from the wrong column; the review finds more."),
		demo("propagation-bench", "Demo: propagation bench", "A level bench in air, without water."),
		{
			Key: "starter", Title: "Your own lamp", About: "A commented design file and a file for your own parts.",
			Files: map[string][]byte{project.DesignFile: starter, "parts/own.yaml": starterParts},
		},
	}
}
