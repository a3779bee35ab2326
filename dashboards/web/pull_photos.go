package web

import (
	"net/http"
	"slices"

	"tautlog/ingest/store"
)

// photoView is a picture of a pull.
type photoView struct {
	Path string
	Ref  string // names it in the form that takes it away
}

func photosOf(p store.Pull) (out []photoView) {
	for _, ref := range p.Photos {
		if hash, ok := store.AttachmentHash(ref); ok {
			out = append(out, photoView{"/pictures/" + hash, ref})
		}
	}
	return out
}

// photoField is where pictures of a pull are chosen.
func photoField(f *sheet) entry {
	return f.set(entry{Name: "photo", Label: text("photos.add"), Hint: text("picture.hint"), Kind: "file"})[0]
}

// addPhotos keeps pictures with a pull.
func (s *server) addPhotos(w http.ResponseWriter, r *http.Request) error {
	p, c, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	f := newSheet(r.PostForm)
	kept, err := s.attach(r, f, "photo", "kept")
	if err != nil {
		return err
	}
	if len(kept) == 0 {
		f.refuse("photo", text("photos.none"))
	}
	if !f.good() {
		forms := emptyForms(p)
		forms.photo = f
		return s.showPull(w, r, p, c, forms)
	}
	for _, ref := range kept {
		if !slices.Contains(p.Photos, ref) {
			p.Photos = append(p.Photos, ref)
		}
	}
	return s.keepPhotos(w, r, p)
}

// takePhotoAway takes a picture from a pull. It stays kept, so that this can be
// undone.
func (s *server) takePhotoAway(w http.ResponseWriter, r *http.Request) error {
	p, _, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	ref := r.PostForm.Get("ref")
	if !slices.Contains(p.Photos, ref) {
		return refuse(http.StatusNotFound, text("refused.nochange"))
	}
	p.Photos = slices.DeleteFunc(slices.Clone(p.Photos), func(have string) bool { return have == ref })
	return s.keepPhotos(w, r, p)
}

func (s *server) keepPhotos(w http.ResponseWriter, r *http.Request, p store.Pull) error {
	if _, err := s.Store.SavePull(r.Context(), p); err != nil {
		return storeSays(err)
	}
	http.Redirect(w, r, pathOf("pulls", p.ID)+"#photos", http.StatusSeeOther)
	return nil
}
