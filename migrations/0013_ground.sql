-- Grids of ground elevations: what each says of itself, with its earlier
-- states, and its heights in squares of 128 by 128 cells, packed without loss.
-- Neither is a layer for maps: what the tiles hold is read by the program.
-- +goose Up
CREATE TABLE ground_grids(
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  uid      TEXT NOT NULL UNIQUE,
  revision INTEGER NOT NULL,
  state    TEXT NOT NULL CHECK (state IN ('staged', 'in_use', 'taken_out')),
  doc      TEXT NOT NULL
);

CREATE TABLE ground_revisions(
  id       INTEGER NOT NULL,
  revision INTEGER NOT NULL, -- of the image
  until    TEXT NOT NULL,
  by       TEXT NOT NULL,
  why      TEXT,
  image    TEXT NOT NULL,
  PRIMARY KEY (id, revision)
);

-- Rows of tiles are counted from the north, columns from the west.
CREATE TABLE ground_tiles(
  id       INTEGER PRIMARY KEY,
  grid_id  INTEGER NOT NULL,
  tile_row INTEGER NOT NULL,
  tile_col INTEGER NOT NULL,
  data     BLOB NOT NULL,
  UNIQUE (grid_id, tile_row, tile_col)
);
