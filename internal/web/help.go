package web

import (
	"fmt"
	"net/http"
	"sync"

	"lampwright/docs"
	"lampwright/internal/handbook"
)

// openBook returns the handbook of this program, which every server of a process shares.
var openBook = sync.OnceValues(func() (*handbook.Book, error) { return handbook.Open(docs.Pages()) })

// helpContents is the sections of the handbook and of the references, in order.
type helpContents struct {
	Sections []handbook.Entry `json:"sections"`
}

// helpHits is what a search finds, best first.
type helpHits struct {
	Hits []handbook.Hit `json:"hits"`
}

// helpSection is one section, as HTML in which every text is escaped.
type helpSection struct {
	handbook.Entry
	HTML     string `json:"html"`
	Previous string `json:"previous,omitempty"`
	Next     string `json:"next,omitempty"`
}

// maxQuery bounds a query [bytes].
const maxQuery = 200

// help answers with the contents, the hits of the query q, or a section: by its id, or that on a check.
func (s *Server) help(w http.ResponseWriter, r *http.Request) {
	book, err := openBook()
	if err != nil {
		s.fail(w, err)
		return
	}
	query := r.URL.Query()
	id, check, q := query.Get("id"), query.Get("check"), query.Get("q")
	if len(q) > maxQuery || len(id) > maxQuery || len(check) > maxQuery {
		refuse(w, http.StatusBadRequest, fmt.Sprintf("at most %d letters are searched for", maxQuery))
		return
	}
	switch {
	case check != "":
		var ok bool
		if id, ok = book.OfCheck(check); !ok {
			refuse(w, http.StatusNotFound, fmt.Sprintf("the handbook has no section on check %q", check))
			return
		}
	case id == "" && q != "":
		answer(w, http.StatusOK, helpHits{book.Search(q)})
		return
	case id == "":
		answer(w, http.StatusOK, helpContents{book.Contents()})
		return
	}
	entry, html, around, ok := book.Section(id, q)
	if !ok {
		refuse(w, http.StatusNotFound, fmt.Sprintf("there is no section %q", id))
		return
	}
	answer(w, http.StatusOK, helpSection{entry, html, around[0], around[1]})
}

// helpPicture answers with a picture of the handbook.
func (s *Server) helpPicture(w http.ResponseWriter, r *http.Request) {
	book, err := openBook()
	if err != nil {
		s.fail(w, err)
		return
	}
	data, ok := book.Picture(r.PathValue("name"))
	if !ok {
		refuse(w, http.StatusNotFound, "there is no such picture")
		return
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	_, _ = w.Write(data) // the client has gone
}
