-- What another program writes into the layer of wells, kept edit by edit until
-- it has become revisions of the records, and what of it could not be used,
-- which is kept and told. The triggers are those of the third migration with
-- that added, and with the layer's statistics kept in step.
--
-- Plates become a layer too, where they were seen last. It is read and not
-- written there.
-- +goose Up

-- The columns as they were before an edit, in the order of the edits.
CREATE TABLE outside_journal(
  no        INTEGER PRIMARY KEY AUTOINCREMENT,
  at        TEXT NOT NULL,
  well_id   INTEGER NOT NULL,
  revision  INTEGER NOT NULL, -- of the state before
  what      TEXT NOT NULL CHECK (what IN ('added', 'edited', 'removed')),
  number BLOB, permit_number BLOB, status BLOB, purpose BLOB, setting BLOB, rock_unit BLOB, parcel BLOB,
  completed BLOB, total_depth_m BLOB, total_depth_qualifier BLOB, depth_to_bedrock_m BLOB,
  depth_to_bedrock_qualifier BLOB, yield_lps BLOB, yield_qualifier BLOB, static_level_m BLOB,
  static_level_qualifier BLOB, casing_depth_m BLOB, ground_elevation_m BLOB, accuracy_m BLOB, batch_id BLOB,
  batch_row BLOB, geom BLOB
);
CREATE INDEX outside_journal_well ON outside_journal(well_id);

-- What was written into a column and is no value for it. It stays until somebody
-- has looked at it, and after.
CREATE TABLE outside_refused(
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  well_id    INTEGER NOT NULL,
  revision   INTEGER NOT NULL, -- of the state that it was written into
  at         TEXT NOT NULL,
  field      TEXT NOT NULL,    -- column of wells
  written    TEXT NOT NULL,
  why        TEXT NOT NULL,
  settled_at TEXT,
  settled_by TEXT
);
CREATE INDEX outside_refused_open ON outside_refused(well_id) WHERE settled_at IS NULL;

DROP TRIGGER gii_wells_geom;
DROP TRIGGER giu_wells_geom;
DROP TRIGGER gid_wells_geom;
DROP TRIGGER wells_outside_insert;
DROP TRIGGER wells_outside_update;
DROP TRIGGER wells_outside_delete;
DROP TRIGGER wells_keep_names;
DROP TRIGGER plates_outside_update;
DROP TRIGGER plates_outside_delete;

-- +goose StatementBegin
CREATE TRIGGER gii_wells_geom AFTER INSERT ON wells WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
 INSERT OR REPLACE INTO idx_wells_geom(pkid,xmin,xmax,ymin,ymax)
  SELECT NEW.id,low.x,high.x,low.y,high.y FROM (SELECT CASE WHEN xk=1075 THEN 0.0 ELSE xs*CAST(xm AS REAL)/(1<<min(max(xk,0),62))/(1<<min(max(xk-62,0),62)) END AS x,CASE WHEN yk=1075 THEN 0.0 ELSE ys*CAST(ym AS REAL)/(1<<min(max(yk,0),62))/(1<<min(max(yk-62,0),62)) END AS y FROM (SELECT (1<<52)+(instr('123456789ABCDEF',substr(hx,14,1))<<48)+(instr('123456789ABCDEF',substr(hx,11,1))<<44)+(instr('123456789ABCDEF',substr(hx,12,1))<<40)+(instr('123456789ABCDEF',substr(hx,9,1))<<36)+(instr('123456789ABCDEF',substr(hx,10,1))<<32)+(instr('123456789ABCDEF',substr(hx,7,1))<<28)+(instr('123456789ABCDEF',substr(hx,8,1))<<24)+(instr('123456789ABCDEF',substr(hx,5,1))<<20)+(instr('123456789ABCDEF',substr(hx,6,1))<<16)+(instr('123456789ABCDEF',substr(hx,3,1))<<12)+(instr('123456789ABCDEF',substr(hx,4,1))<<8)+(instr('123456789ABCDEF',substr(hx,1,1))<<4)+(instr('123456789ABCDEF',substr(hx,2,1))<<0) AS xm,1075-(((instr('123456789ABCDEF',substr(hx,15,1))&7)<<8)+(instr('123456789ABCDEF',substr(hx,16,1))<<4)+instr('123456789ABCDEF',substr(hx,13,1))) AS xk,1-2*(instr('123456789ABCDEF',substr(hx,15,1))>>3) AS xs,(1<<52)+(instr('123456789ABCDEF',substr(hy,14,1))<<48)+(instr('123456789ABCDEF',substr(hy,11,1))<<44)+(instr('123456789ABCDEF',substr(hy,12,1))<<40)+(instr('123456789ABCDEF',substr(hy,9,1))<<36)+(instr('123456789ABCDEF',substr(hy,10,1))<<32)+(instr('123456789ABCDEF',substr(hy,7,1))<<28)+(instr('123456789ABCDEF',substr(hy,8,1))<<24)+(instr('123456789ABCDEF',substr(hy,5,1))<<20)+(instr('123456789ABCDEF',substr(hy,6,1))<<16)+(instr('123456789ABCDEF',substr(hy,3,1))<<12)+(instr('123456789ABCDEF',substr(hy,4,1))<<8)+(instr('123456789ABCDEF',substr(hy,1,1))<<4)+(instr('123456789ABCDEF',substr(hy,2,1))<<0) AS ym,1075-(((instr('123456789ABCDEF',substr(hy,15,1))&7)<<8)+(instr('123456789ABCDEF',substr(hy,16,1))<<4)+instr('123456789ABCDEF',substr(hy,13,1))) AS yk,1-2*(instr('123456789ABCDEF',substr(hy,15,1))>>3) AS ys FROM (SELECT hex(substr(substr(NEW.geom,1),7,8)) AS hx,hex(substr(substr(NEW.geom,1),15,8)) AS hy LIMIT 1) LIMIT 1) LIMIT 1) low, (SELECT CASE WHEN xk=1075 THEN 0.0 ELSE xs*CAST(xm AS REAL)/(1<<min(max(xk,0),62))/(1<<min(max(xk-62,0),62)) END AS x,CASE WHEN yk=1075 THEN 0.0 ELSE ys*CAST(ym AS REAL)/(1<<min(max(yk,0),62))/(1<<min(max(yk-62,0),62)) END AS y FROM (SELECT (1<<52)+(instr('123456789ABCDEF',substr(hx,14,1))<<48)+(instr('123456789ABCDEF',substr(hx,11,1))<<44)+(instr('123456789ABCDEF',substr(hx,12,1))<<40)+(instr('123456789ABCDEF',substr(hx,9,1))<<36)+(instr('123456789ABCDEF',substr(hx,10,1))<<32)+(instr('123456789ABCDEF',substr(hx,7,1))<<28)+(instr('123456789ABCDEF',substr(hx,8,1))<<24)+(instr('123456789ABCDEF',substr(hx,5,1))<<20)+(instr('123456789ABCDEF',substr(hx,6,1))<<16)+(instr('123456789ABCDEF',substr(hx,3,1))<<12)+(instr('123456789ABCDEF',substr(hx,4,1))<<8)+(instr('123456789ABCDEF',substr(hx,1,1))<<4)+(instr('123456789ABCDEF',substr(hx,2,1))<<0) AS xm,1075-(((instr('123456789ABCDEF',substr(hx,15,1))&7)<<8)+(instr('123456789ABCDEF',substr(hx,16,1))<<4)+instr('123456789ABCDEF',substr(hx,13,1))) AS xk,1-2*(instr('123456789ABCDEF',substr(hx,15,1))>>3) AS xs,(1<<52)+(instr('123456789ABCDEF',substr(hy,14,1))<<48)+(instr('123456789ABCDEF',substr(hy,11,1))<<44)+(instr('123456789ABCDEF',substr(hy,12,1))<<40)+(instr('123456789ABCDEF',substr(hy,9,1))<<36)+(instr('123456789ABCDEF',substr(hy,10,1))<<32)+(instr('123456789ABCDEF',substr(hy,7,1))<<28)+(instr('123456789ABCDEF',substr(hy,8,1))<<24)+(instr('123456789ABCDEF',substr(hy,5,1))<<20)+(instr('123456789ABCDEF',substr(hy,6,1))<<16)+(instr('123456789ABCDEF',substr(hy,3,1))<<12)+(instr('123456789ABCDEF',substr(hy,4,1))<<8)+(instr('123456789ABCDEF',substr(hy,1,1))<<4)+(instr('123456789ABCDEF',substr(hy,2,1))<<0) AS ym,1075-(((instr('123456789ABCDEF',substr(hy,15,1))&7)<<8)+(instr('123456789ABCDEF',substr(hy,16,1))<<4)+instr('123456789ABCDEF',substr(hy,13,1))) AS yk,1-2*(instr('123456789ABCDEF',substr(hy,15,1))>>3) AS ys FROM (SELECT hex(substr(substr(NEW.geom,17),7,8)) AS hx,hex(substr(substr(NEW.geom,17),15,8)) AS hy LIMIT 1) LIMIT 1) LIMIT 1) high WHERE NEW.geom IS NOT NULL;
 UPDATE geometry_columns_statistics SET last_verified=strftime('%Y-%m-%dT%H:%M:%fZ','now'), row_count=row_count+1, extent_min_x=ifnull(min(extent_min_x, (SELECT xmin FROM idx_wells_geom WHERE pkid=NEW.id)), ifnull(extent_min_x, (SELECT xmin FROM idx_wells_geom WHERE pkid=NEW.id))), extent_min_y=ifnull(min(extent_min_y, (SELECT ymin FROM idx_wells_geom WHERE pkid=NEW.id)), ifnull(extent_min_y, (SELECT ymin FROM idx_wells_geom WHERE pkid=NEW.id))), extent_max_x=ifnull(max(extent_max_x, (SELECT xmax FROM idx_wells_geom WHERE pkid=NEW.id)), ifnull(extent_max_x, (SELECT xmax FROM idx_wells_geom WHERE pkid=NEW.id))), extent_max_y=ifnull(max(extent_max_y, (SELECT ymax FROM idx_wells_geom WHERE pkid=NEW.id)), ifnull(extent_max_y, (SELECT ymax FROM idx_wells_geom WHERE pkid=NEW.id))) WHERE f_table_name='wells';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER giu_wells_geom AFTER UPDATE OF id, geom ON wells WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
 DELETE FROM idx_wells_geom WHERE pkid=OLD.id;
 INSERT OR REPLACE INTO idx_wells_geom(pkid,xmin,xmax,ymin,ymax)
  SELECT NEW.id,low.x,high.x,low.y,high.y FROM (SELECT CASE WHEN xk=1075 THEN 0.0 ELSE xs*CAST(xm AS REAL)/(1<<min(max(xk,0),62))/(1<<min(max(xk-62,0),62)) END AS x,CASE WHEN yk=1075 THEN 0.0 ELSE ys*CAST(ym AS REAL)/(1<<min(max(yk,0),62))/(1<<min(max(yk-62,0),62)) END AS y FROM (SELECT (1<<52)+(instr('123456789ABCDEF',substr(hx,14,1))<<48)+(instr('123456789ABCDEF',substr(hx,11,1))<<44)+(instr('123456789ABCDEF',substr(hx,12,1))<<40)+(instr('123456789ABCDEF',substr(hx,9,1))<<36)+(instr('123456789ABCDEF',substr(hx,10,1))<<32)+(instr('123456789ABCDEF',substr(hx,7,1))<<28)+(instr('123456789ABCDEF',substr(hx,8,1))<<24)+(instr('123456789ABCDEF',substr(hx,5,1))<<20)+(instr('123456789ABCDEF',substr(hx,6,1))<<16)+(instr('123456789ABCDEF',substr(hx,3,1))<<12)+(instr('123456789ABCDEF',substr(hx,4,1))<<8)+(instr('123456789ABCDEF',substr(hx,1,1))<<4)+(instr('123456789ABCDEF',substr(hx,2,1))<<0) AS xm,1075-(((instr('123456789ABCDEF',substr(hx,15,1))&7)<<8)+(instr('123456789ABCDEF',substr(hx,16,1))<<4)+instr('123456789ABCDEF',substr(hx,13,1))) AS xk,1-2*(instr('123456789ABCDEF',substr(hx,15,1))>>3) AS xs,(1<<52)+(instr('123456789ABCDEF',substr(hy,14,1))<<48)+(instr('123456789ABCDEF',substr(hy,11,1))<<44)+(instr('123456789ABCDEF',substr(hy,12,1))<<40)+(instr('123456789ABCDEF',substr(hy,9,1))<<36)+(instr('123456789ABCDEF',substr(hy,10,1))<<32)+(instr('123456789ABCDEF',substr(hy,7,1))<<28)+(instr('123456789ABCDEF',substr(hy,8,1))<<24)+(instr('123456789ABCDEF',substr(hy,5,1))<<20)+(instr('123456789ABCDEF',substr(hy,6,1))<<16)+(instr('123456789ABCDEF',substr(hy,3,1))<<12)+(instr('123456789ABCDEF',substr(hy,4,1))<<8)+(instr('123456789ABCDEF',substr(hy,1,1))<<4)+(instr('123456789ABCDEF',substr(hy,2,1))<<0) AS ym,1075-(((instr('123456789ABCDEF',substr(hy,15,1))&7)<<8)+(instr('123456789ABCDEF',substr(hy,16,1))<<4)+instr('123456789ABCDEF',substr(hy,13,1))) AS yk,1-2*(instr('123456789ABCDEF',substr(hy,15,1))>>3) AS ys FROM (SELECT hex(substr(substr(NEW.geom,1),7,8)) AS hx,hex(substr(substr(NEW.geom,1),15,8)) AS hy LIMIT 1) LIMIT 1) LIMIT 1) low, (SELECT CASE WHEN xk=1075 THEN 0.0 ELSE xs*CAST(xm AS REAL)/(1<<min(max(xk,0),62))/(1<<min(max(xk-62,0),62)) END AS x,CASE WHEN yk=1075 THEN 0.0 ELSE ys*CAST(ym AS REAL)/(1<<min(max(yk,0),62))/(1<<min(max(yk-62,0),62)) END AS y FROM (SELECT (1<<52)+(instr('123456789ABCDEF',substr(hx,14,1))<<48)+(instr('123456789ABCDEF',substr(hx,11,1))<<44)+(instr('123456789ABCDEF',substr(hx,12,1))<<40)+(instr('123456789ABCDEF',substr(hx,9,1))<<36)+(instr('123456789ABCDEF',substr(hx,10,1))<<32)+(instr('123456789ABCDEF',substr(hx,7,1))<<28)+(instr('123456789ABCDEF',substr(hx,8,1))<<24)+(instr('123456789ABCDEF',substr(hx,5,1))<<20)+(instr('123456789ABCDEF',substr(hx,6,1))<<16)+(instr('123456789ABCDEF',substr(hx,3,1))<<12)+(instr('123456789ABCDEF',substr(hx,4,1))<<8)+(instr('123456789ABCDEF',substr(hx,1,1))<<4)+(instr('123456789ABCDEF',substr(hx,2,1))<<0) AS xm,1075-(((instr('123456789ABCDEF',substr(hx,15,1))&7)<<8)+(instr('123456789ABCDEF',substr(hx,16,1))<<4)+instr('123456789ABCDEF',substr(hx,13,1))) AS xk,1-2*(instr('123456789ABCDEF',substr(hx,15,1))>>3) AS xs,(1<<52)+(instr('123456789ABCDEF',substr(hy,14,1))<<48)+(instr('123456789ABCDEF',substr(hy,11,1))<<44)+(instr('123456789ABCDEF',substr(hy,12,1))<<40)+(instr('123456789ABCDEF',substr(hy,9,1))<<36)+(instr('123456789ABCDEF',substr(hy,10,1))<<32)+(instr('123456789ABCDEF',substr(hy,7,1))<<28)+(instr('123456789ABCDEF',substr(hy,8,1))<<24)+(instr('123456789ABCDEF',substr(hy,5,1))<<20)+(instr('123456789ABCDEF',substr(hy,6,1))<<16)+(instr('123456789ABCDEF',substr(hy,3,1))<<12)+(instr('123456789ABCDEF',substr(hy,4,1))<<8)+(instr('123456789ABCDEF',substr(hy,1,1))<<4)+(instr('123456789ABCDEF',substr(hy,2,1))<<0) AS ym,1075-(((instr('123456789ABCDEF',substr(hy,15,1))&7)<<8)+(instr('123456789ABCDEF',substr(hy,16,1))<<4)+instr('123456789ABCDEF',substr(hy,13,1))) AS yk,1-2*(instr('123456789ABCDEF',substr(hy,15,1))>>3) AS ys FROM (SELECT hex(substr(substr(NEW.geom,17),7,8)) AS hx,hex(substr(substr(NEW.geom,17),15,8)) AS hy LIMIT 1) LIMIT 1) LIMIT 1) high WHERE NEW.geom IS NOT NULL;
 UPDATE geometry_columns_statistics SET last_verified=strftime('%Y-%m-%dT%H:%M:%fZ','now'), extent_min_x=ifnull(min(extent_min_x, (SELECT xmin FROM idx_wells_geom WHERE pkid=NEW.id)), ifnull(extent_min_x, (SELECT xmin FROM idx_wells_geom WHERE pkid=NEW.id))), extent_min_y=ifnull(min(extent_min_y, (SELECT ymin FROM idx_wells_geom WHERE pkid=NEW.id)), ifnull(extent_min_y, (SELECT ymin FROM idx_wells_geom WHERE pkid=NEW.id))), extent_max_x=ifnull(max(extent_max_x, (SELECT xmax FROM idx_wells_geom WHERE pkid=NEW.id)), ifnull(extent_max_x, (SELECT xmax FROM idx_wells_geom WHERE pkid=NEW.id))), extent_max_y=ifnull(max(extent_max_y, (SELECT ymax FROM idx_wells_geom WHERE pkid=NEW.id)), ifnull(extent_max_y, (SELECT ymax FROM idx_wells_geom WHERE pkid=NEW.id))) WHERE f_table_name='wells';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER gid_wells_geom AFTER DELETE ON wells WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
 DELETE FROM idx_wells_geom WHERE pkid=OLD.id;
 UPDATE geometry_columns_statistics SET last_verified=strftime('%Y-%m-%dT%H:%M:%fZ','now'), row_count=row_count-1 WHERE f_table_name='wells';
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER wells_outside_insert AFTER INSERT ON wells WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  INSERT INTO commits(at, actor, why) VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'added by another program');
  INSERT INTO outside_journal(at, well_id, revision, what) VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), NEW.id, 0, 'added');
  INSERT INTO own_write VALUES (1);
  UPDATE wells SET revision = 1, changed_commit = (SELECT max(no) FROM commits), batch_id = NULL, batch_row = NULL,
    uid = coalesce(uid, lower(hex(randomblob(4)) || '-' || hex(randomblob(2)) || '-4' || substr(hex(randomblob(2)), 2) || '-'
      || substr('89ab', 1 + (random() & 3), 1) || substr(hex(randomblob(2)), 2) || '-' || hex(randomblob(6))))
    WHERE id = NEW.id;
  DELETE FROM own_write;
  INSERT OR IGNORE INTO outside(well_id) VALUES (NEW.id);
  DELETE FROM picture WHERE chunk = NEW.id >> 12;
END;
-- +goose StatementEnd

-- A program that writes every column of a row, changed or not, edits those alone
-- that differ.
-- +goose StatementBegin
CREATE TRIGGER wells_outside_update AFTER UPDATE OF number, permit_number, status, purpose, setting, rock_unit, parcel, completed, total_depth_m, total_depth_qualifier,
  depth_to_bedrock_m, depth_to_bedrock_qualifier, yield_lps, yield_qualifier, static_level_m, static_level_qualifier,
  casing_depth_m, ground_elevation_m, accuracy_m, batch_id, batch_row, geom
  ON wells WHEN NOT EXISTS (SELECT 1 FROM own_write) AND (NEW.number IS NOT OLD.number OR NEW.permit_number IS NOT OLD.permit_number OR NEW.status IS NOT OLD.status OR
    NEW.purpose IS NOT OLD.purpose OR NEW.setting IS NOT OLD.setting OR NEW.rock_unit IS NOT OLD.rock_unit OR
    NEW.parcel IS NOT OLD.parcel OR NEW.completed IS NOT OLD.completed OR NEW.total_depth_m IS NOT OLD.total_depth_m OR
    NEW.total_depth_qualifier IS NOT OLD.total_depth_qualifier OR NEW.depth_to_bedrock_m IS NOT OLD.depth_to_bedrock_m OR
    NEW.depth_to_bedrock_qualifier IS NOT OLD.depth_to_bedrock_qualifier OR NEW.yield_lps IS NOT OLD.yield_lps OR
    NEW.yield_qualifier IS NOT OLD.yield_qualifier OR NEW.static_level_m IS NOT OLD.static_level_m OR
    NEW.static_level_qualifier IS NOT OLD.static_level_qualifier OR NEW.casing_depth_m IS NOT OLD.casing_depth_m OR
    NEW.ground_elevation_m IS NOT OLD.ground_elevation_m OR NEW.accuracy_m IS NOT OLD.accuracy_m OR
    NEW.batch_id IS NOT OLD.batch_id OR NEW.batch_row IS NOT OLD.batch_row OR NEW.geom IS NOT OLD.geom) BEGIN
  INSERT INTO commits(at, actor, why) VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'edited by another program');
  INSERT INTO outside_journal(at, well_id, revision, what,
      number, permit_number, status, purpose, setting, rock_unit, parcel, completed, total_depth_m, total_depth_qualifier,
      depth_to_bedrock_m, depth_to_bedrock_qualifier, yield_lps, yield_qualifier, static_level_m, static_level_qualifier,
      casing_depth_m, ground_elevation_m, accuracy_m, batch_id, batch_row, geom)
    VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), OLD.id, OLD.revision, 'edited',
      OLD.number, OLD.permit_number, OLD.status, OLD.purpose, OLD.setting, OLD.rock_unit, OLD.parcel, OLD.completed,
      OLD.total_depth_m, OLD.total_depth_qualifier, OLD.depth_to_bedrock_m, OLD.depth_to_bedrock_qualifier, OLD.yield_lps,
      OLD.yield_qualifier, OLD.static_level_m, OLD.static_level_qualifier, OLD.casing_depth_m, OLD.ground_elevation_m,
      OLD.accuracy_m, OLD.batch_id, OLD.batch_row, OLD.geom);
  INSERT OR IGNORE INTO revisions(well_id, revision, until, by, why, image)
    SELECT well_id, revision, strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'edited by another program', doc
    FROM well_records WHERE well_id = NEW.id;
  INSERT INTO own_write VALUES (1);
  UPDATE wells SET revision = OLD.revision + 1, changed_commit = (SELECT max(no) FROM commits) WHERE id = NEW.id;
  DELETE FROM own_write;
  INSERT OR IGNORE INTO outside(well_id) VALUES (NEW.id);
  DELETE FROM picture WHERE chunk = NEW.id >> 12;
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER wells_outside_delete BEFORE DELETE ON wells WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  INSERT INTO commits(at, actor, why) VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'removed by another program');
  INSERT INTO outside_journal(at, well_id, revision, what,
      number, permit_number, status, purpose, setting, rock_unit, parcel, completed, total_depth_m, total_depth_qualifier,
      depth_to_bedrock_m, depth_to_bedrock_qualifier, yield_lps, yield_qualifier, static_level_m, static_level_qualifier,
      casing_depth_m, ground_elevation_m, accuracy_m, batch_id, batch_row, geom)
    VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), OLD.id, OLD.revision, 'removed',
      OLD.number, OLD.permit_number, OLD.status, OLD.purpose, OLD.setting, OLD.rock_unit, OLD.parcel, OLD.completed,
      OLD.total_depth_m, OLD.total_depth_qualifier, OLD.depth_to_bedrock_m, OLD.depth_to_bedrock_qualifier, OLD.yield_lps,
      OLD.yield_qualifier, OLD.static_level_m, OLD.static_level_qualifier, OLD.casing_depth_m, OLD.ground_elevation_m,
      OLD.accuracy_m, OLD.batch_id, OLD.batch_row, OLD.geom);
  INSERT OR IGNORE INTO revisions(well_id, revision, until, by, why, image)
    SELECT well_id, revision, strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'removed by another program', doc
    FROM well_records WHERE well_id = OLD.id;
  INSERT OR REPLACE INTO removed(well_id, uid, removed_commit) VALUES (OLD.id, OLD.uid, (SELECT max(no) FROM commits));
  INSERT INTO own_write VALUES (1);
  INSERT OR IGNORE INTO plate_revisions(plate_id, revision, until, by, why, image, well_id, linked_by, linked_at)
    SELECT id, revision, strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'the record was removed by another program', doc, well_id, linked_by, linked_at
    FROM plates WHERE well_id = OLD.id;
  UPDATE plates SET well_id = NULL, linked_by = NULL, linked_at = NULL, revision = revision + 1,
    changed_commit = (SELECT max(no) FROM commits) WHERE well_id = OLD.id;
  DELETE FROM strata WHERE well_id = OLD.id;
  DELETE FROM well_records WHERE well_id = OLD.id;
  DELETE FROM own_write;
  DELETE FROM outside WHERE well_id = OLD.id;
  DELETE FROM picture WHERE chunk = OLD.id >> 12;
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER wells_keep_names BEFORE UPDATE OF id, uid, revision, changed_commit ON wells
  WHEN (NEW.id IS NOT OLD.id OR NEW.revision IS NOT OLD.revision OR NEW.changed_commit IS NOT OLD.changed_commit
    OR (OLD.uid IS NOT NULL AND NEW.uid IS NOT OLD.uid)) AND NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  SELECT raise(ABORT, 'the id, uid and revision of a well are not edited');
END;
-- +goose StatementEnd

-- Where a plate was seen last.
ALTER TABLE plates ADD COLUMN geom POINT CHECK (geom IS NULL OR (
  typeof(geom) = 'blob' AND length(geom) = 60 AND substr(geom, 1, 6) = x'0001E6100000'
  AND substr(geom, 39, 5) = x'7C01000000' AND substr(geom, 60) = x'FE'
  AND substr(geom, 7, 16) = substr(geom, 44, 16) AND substr(geom, 23, 16) = substr(geom, 44, 16)));
ALTER TABLE plates ADD COLUMN placed INTEGER NOT NULL DEFAULT 0; -- whether geom follows the text
CREATE INDEX plates_unplaced ON plates(id) WHERE placed = 0;
INSERT INTO geometry_columns VALUES('plates', 'geom', 1, 2, 4326, 0);
INSERT INTO geometry_columns_auth VALUES('plates', 'geom', 1, 0);
INSERT INTO geometry_columns_time(f_table_name, f_geometry_column) VALUES('plates', 'geom');

-- A plate may be linked from outside, and its state before is kept; what it
-- says is written in the program.
-- +goose StatementBegin
CREATE TRIGGER plates_outside_insert BEFORE INSERT ON plates WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  SELECT raise(ABORT, 'plates are entered in the program');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER plates_keep_text BEFORE UPDATE ON plates WHEN NOT EXISTS (SELECT 1 FROM own_write)
  AND (NEW.id IS NOT OLD.id OR NEW.uid IS NOT OLD.uid OR NEW.revision IS NOT OLD.revision OR NEW.number IS NOT OLD.number
    OR NEW.doc IS NOT OLD.doc OR NEW.geom IS NOT OLD.geom OR NEW.changed_commit IS NOT OLD.changed_commit) BEGIN
  SELECT raise(ABORT, 'plates are edited in the program; here only well_id may be changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER plates_outside_update AFTER UPDATE OF well_id ON plates
  WHEN NEW.well_id IS NOT OLD.well_id AND NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  INSERT INTO commits(at, actor, why) VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'plate linked by another program');
  INSERT INTO own_write VALUES (1);
  INSERT OR IGNORE INTO plate_revisions(plate_id, revision, until, by, why, image, well_id, linked_by, linked_at)
    VALUES (OLD.id, OLD.revision, strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'linked by another program', OLD.doc, OLD.well_id, OLD.linked_by, OLD.linked_at);
  UPDATE plates SET revision = OLD.revision + 1, changed_commit = (SELECT max(no) FROM commits),
    linked_by = iif(NEW.well_id IS NULL, NULL, 'outside'), linked_at = iif(NEW.well_id IS NULL, NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')) WHERE id = NEW.id;
  UPDATE wells SET changed_commit = (SELECT max(no) FROM commits) WHERE id IN (OLD.well_id, NEW.well_id);
  DELETE FROM own_write;
  DELETE FROM picture WHERE chunk IN (OLD.well_id >> 12, NEW.well_id >> 12);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER plates_outside_delete BEFORE DELETE ON plates WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  SELECT raise(ABORT, 'plates are taken out in the program');
END;
-- +goose StatementEnd
