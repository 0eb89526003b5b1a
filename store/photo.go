package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// MostPhotos is how many photos stand with one opening of a box.
const MostPhotos = 3

// ErrTooManyPhotos means that an opening has MostPhotos already.
var ErrTooManyPhotos = errors.New("the opening has as many photos as it may have")

// Photo is what is known of a photo without its pictures.
type Photo struct {
	ID        string
	BoxID     int64
	OpeningID string // of the first opening of those that correct each other
	By        int64  // member; 0 for one who left
	AddedAt   time.Time
	RemovedAt *time.Time // nil while it stands
	Width     int        // pixels of the large picture
	Height    int
}

const photoColumns = `id::text, box_id, opening_id::text, coalesce(by_member, 0) AS by, added_at, removed_at, width, height`

// NewPhoto is a photo to be kept.
type NewPhoto struct {
	ID            string // a UUID, of whoever took it
	BoxID         int64
	OpeningID     string         // that it was taken at
	Corrects      string         // the opening that this one corrects, for where it says nothing new; may be empty
	On            scheduler.Date // where neither is known, the photo goes to the one that counts on this day
	By            int64
	Large, Small  []byte // JPEG files
	Width, Height int
}

// AddPhotos keeps photos, and returns how many of them were new: one whose ID is
// known changes nothing. ErrNotFound if a box has no opening that one could
// belong to, ErrTooManyPhotos if it has as many as it may have; then none is
// kept.
func (tx *Tx) AddPhotos(ctx context.Context, photos []NewPhoto) (added int, err error) {
	for i := range photos {
		p := &photos[i]
		isNew, err := tx.addPhoto(ctx, p)
		if err != nil {
			return 0, tx.wrap(err, "keep photo %s of box %d", p.ID, p.BoxID)
		}
		if isNew {
			added++
		}
	}
	return added, nil
}

func (tx *Tx) addPhoto(ctx context.Context, p *NewPhoto) (isNew bool, err error) {
	var known bool
	var opening *string
	var b pgx.Batch
	b.Queue(`SELECT FROM box WHERE id = $1 FOR NO KEY UPDATE`, p.BoxID) // one at a time is counted
	b.Queue(`SELECT EXISTS (SELECT FROM photo WHERE id = $1)`, p.ID).QueryRow(func(row pgx.Row) error { return row.Scan(&known) })
	b.Queue(`
		WITH RECURSIVE chain(id, supersedes) AS (
			(SELECT id, supersedes FROM opening o WHERE box_id = $1 AND (id = $2::uuid OR id = nullif($4, '')::uuid OR on_day = $3 AND `+counts(`$1`)+`)
			  ORDER BY id = $2::uuid DESC, id = nullif($4, '')::uuid DESC NULLS LAST, `+decidesFirst+` LIMIT 1)
			UNION SELECT c.id, c.supersedes FROM chain JOIN opening c ON c.box_id = $1 AND c.id = chain.supersedes)
		SELECT (SELECT id::text FROM chain WHERE supersedes IS NULL)`, p.BoxID, p.OpeningID, p.On, p.Corrects).
		QueryRow(func(row pgx.Row) error { return row.Scan(&opening) })
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil || known {
		return false, err
	}
	if opening == nil {
		return false, ErrNotFound
	}
	tag, err := tx.tx.Exec(ctx, `
		INSERT INTO photo (club_id, id, box_id, opening_id, by_member, width, height, large, small)
		SELECT $1, $2, $3, $4::uuid, nullif($5::bigint, 0), $6, $7, $8, $9
		 WHERE (SELECT count(*) FROM photo WHERE opening_id = $4::uuid AND removed_at IS NULL) < $10`,
		tx.club, p.ID, p.BoxID, *opening, p.By, p.Width, p.Height, p.Large, p.Small, MostPhotos)
	if err == nil && tag.RowsAffected() == 0 {
		err = ErrTooManyPhotos
	}
	return err == nil, err
}

// PlacedPhoto is a photo with where and when it was taken.
type PlacedPhoto struct {
	Photo
	On           scheduler.Date // of the opening
	Box          string         // name
	HiveID       int64          // 0 for a box that stands on none
	Hive, Apiary string         // names
	ApiaryID     int64
	Email        string // of the member; empty for one who left
}

const selectPlacedPhotos = `
	SELECT ` + photoColumns + `, on_day AS on, box, hive_id, hive, apiary, apiary_id, email FROM (
		SELECT p.*, o.on_day, x.name AS box, coalesce(h.id, 0) AS hive_id, coalesce(h.name, '') AS hive, coalesce(a.name, '') AS apiary,
		       coalesce(a.id, 0) AS apiary_id, coalesce(r.email, '') AS email
		  FROM photo p
		  JOIN opening o ON o.club_id = p.club_id AND o.id = p.opening_id
		  JOIN box x ON x.club_id = p.club_id AND x.id = p.box_id
		  LEFT JOIN hive h ON h.club_id = x.club_id AND h.id = x.hive_id
		  LEFT JOIN apiary a ON a.club_id = h.club_id AND a.id = h.apiary_id
		  LEFT JOIN member m ON m.club_id = p.club_id AND m.id = p.by_member
		  LEFT JOIN LATERAL club_person(m.person_id) r ON true
		 WHERE `

// Photo reads a photo, one removed within the last day too; ErrNotFound once its
// pictures are gone.
func (tx *Tx) Photo(ctx context.Context, id string) (*PlacedPhoto, error) {
	found, err := list[PlacedPhoto](ctx, tx, selectPlacedPhotos+`p.id = $1 AND p.large IS NOT NULL) all_of_it`, id)
	if err == nil && len(found) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "read photo %s", id)
	}
	return &found[0], nil
}

// Photos reads all photos of the club that stand, in the order in which they came.
func (tx *Tx) Photos(ctx context.Context) ([]PlacedPhoto, error) {
	out, err := list[PlacedPhoto](ctx, tx, selectPlacedPhotos+`p.box_id = ANY(ARRAY(SELECT id FROM box)) AND p.removed_at IS NULL) all_of_it ORDER BY seq`)
	return out, tx.wrap(err, "read the photos")
}

// Picture reads the JPEG file of a photo that stands, the small one for lists or
// the large one.
func (tx *Tx) Picture(ctx context.Context, id string, small bool) (file []byte, err error) {
	column := "large"
	if small {
		column = "small"
	}
	err = tx.tx.QueryRow(ctx, `SELECT `+column+` FROM photo WHERE id = $1 AND removed_at IS NULL`, id).Scan(&file)
	return file, tx.wrap(err, "read the picture of photo %s", id)
}

// RemovePhoto takes a photo away, for a day so that it can be brought back. One
// that is away already is left as it is.
func (tx *Tx) RemovePhoto(ctx context.Context, id string) error {
	return tx.one(ctx, "remove a photo", `UPDATE photo SET removed_at = coalesce(removed_at, now()) WHERE id = $1 AND large IS NOT NULL`, id)
}

// BringBackPhoto undoes RemovePhoto; ErrNotFound once the pictures are gone,
// ErrTooManyPhotos where others took its place.
func (tx *Tx) BringBackPhoto(ctx context.Context, id string) error {
	p, err := tx.Photo(ctx, id)
	if err != nil || p.RemovedAt == nil {
		return err
	}
	tag, err := tx.tx.Exec(ctx, `
		WITH lock AS (SELECT FROM box WHERE id = $2 FOR NO KEY UPDATE)
		UPDATE photo SET removed_at = NULL WHERE id = $1 AND (SELECT count(*) FROM lock) > 0
		   AND (SELECT count(*) FROM photo WHERE opening_id = $3 AND removed_at IS NULL) < $4`, id, p.BoxID, p.OpeningID, MostPhotos)
	if err == nil && tag.RowsAffected() == 0 {
		err = ErrTooManyPhotos
	}
	return tx.wrap(err, "bring photo %s back", id)
}

// queuePhotos reads the photos of boxes that stand at apiaries, those removed
// within the last day too.
func (l *loading) queuePhotos(b *pgx.Batch, sc scope) {
	queue(b, &l.photos, `SELECT `+photoColumns+` FROM photo WHERE box_id = `+boxesAt+` AND large IS NOT NULL ORDER BY seq`, sc.apiaries)
}

// PhotosOf reads the photos that stand of some boxes, in the order in which they
// came.
func (tx *Tx) PhotosOf(ctx context.Context, boxes []int64) ([]Photo, error) {
	out, err := list[Photo](ctx, tx, `SELECT `+photoColumns+` FROM photo WHERE box_id = ANY($1) AND removed_at IS NULL ORDER BY seq`, boxes)
	return out, tx.wrap(err, "read the photos of %d boxes", len(boxes))
}

// clearPhotos takes the pictures of photos away that were removed more than a
// day ago.
func (tx *Tx) clearPhotos(ctx context.Context) (int, error) {
	tag, err := tx.tx.Exec(ctx, `
		UPDATE photo SET large = NULL, small = NULL WHERE id = ANY(ARRAY(
			SELECT id FROM photo WHERE removed_at < now() - interval '1 day' AND large IS NOT NULL LIMIT $1 FOR UPDATE SKIP LOCKED))`,
		clearAtOnce)
	return int(tag.RowsAffected()), tx.wrap(err, "clear the photos removed")
}

// EachPhoto hands over the photos of a club that stand, one by one with the large
// picture, so that memory holds one at a time.
func (s *Store) EachPhoto(ctx context.Context, club int64, do func(*PlacedPhoto, []byte) error) error {
	var all []PlacedPhoto
	err := s.InSnapshot(ctx, club, func(tx *Tx) (err error) {
		tx.Last()
		all, err = tx.Photos(ctx)
		return err
	})
	for i := 0; i < len(all) && err == nil; i++ {
		var file []byte
		err = s.InSnapshot(ctx, club, func(tx *Tx) (err error) {
			tx.Last()
			file, err = tx.Picture(ctx, all[i].ID, false)
			return err
		})
		if errors.Is(err, ErrNotFound) { // removed meanwhile
			err = nil
			continue
		}
		if err == nil {
			err = do(&all[i], file)
		}
	}
	return err
}

// ImportPhoto keeps a photo of an opening that is on record, and reports whether
// it was new. It finds the box by itself.
func (tx *Tx) ImportPhoto(ctx context.Context, p NewPhoto) (isNew bool, err error) {
	err = tx.tx.QueryRow(ctx, `SELECT box_id FROM opening WHERE id = $1`, p.OpeningID).Scan(&p.BoxID)
	if err == nil {
		isNew, err = tx.addPhoto(ctx, &p)
	}
	return isNew, tx.wrap(err, "import photo %s", p.ID)
}
