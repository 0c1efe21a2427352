-- What keeps the file right when another program writes to it: a GIS, a
-- script, the sqlite3 shell. The program's own transactions do all this
-- themselves and put a row in own_write, which switches the triggers off.
--
-- An outside change gets a commit number, so that a running server notices;
-- the earlier image is kept; the record's revision goes up; the well is noted
-- in outside until its doc has caught up.
-- +goose Up

-- +goose StatementBegin
CREATE TRIGGER gii_wells_geom AFTER INSERT ON wells WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
 INSERT OR REPLACE INTO idx_wells_geom(pkid,xmin,xmax,ymin,ymax)
  SELECT NEW.id,x,x,y,y FROM (SELECT CASE WHEN xk=1075 THEN 0.0 ELSE xs*CAST(xm AS REAL)/(1<<min(max(xk,0),62))/(1<<min(max(xk-62,0),62)) END AS x,CASE WHEN yk=1075 THEN 0.0 ELSE ys*CAST(ym AS REAL)/(1<<min(max(yk,0),62))/(1<<min(max(yk-62,0),62)) END AS y FROM (SELECT (1<<52)+(instr('123456789ABCDEF',substr(hx,14,1))<<48)+(instr('123456789ABCDEF',substr(hx,11,1))<<44)+(instr('123456789ABCDEF',substr(hx,12,1))<<40)+(instr('123456789ABCDEF',substr(hx,9,1))<<36)+(instr('123456789ABCDEF',substr(hx,10,1))<<32)+(instr('123456789ABCDEF',substr(hx,7,1))<<28)+(instr('123456789ABCDEF',substr(hx,8,1))<<24)+(instr('123456789ABCDEF',substr(hx,5,1))<<20)+(instr('123456789ABCDEF',substr(hx,6,1))<<16)+(instr('123456789ABCDEF',substr(hx,3,1))<<12)+(instr('123456789ABCDEF',substr(hx,4,1))<<8)+(instr('123456789ABCDEF',substr(hx,1,1))<<4)+(instr('123456789ABCDEF',substr(hx,2,1))<<0) AS xm,1075-(((instr('123456789ABCDEF',substr(hx,15,1))&7)<<8)+(instr('123456789ABCDEF',substr(hx,16,1))<<4)+instr('123456789ABCDEF',substr(hx,13,1))) AS xk,1-2*(instr('123456789ABCDEF',substr(hx,15,1))>>3) AS xs,(1<<52)+(instr('123456789ABCDEF',substr(hy,14,1))<<48)+(instr('123456789ABCDEF',substr(hy,11,1))<<44)+(instr('123456789ABCDEF',substr(hy,12,1))<<40)+(instr('123456789ABCDEF',substr(hy,9,1))<<36)+(instr('123456789ABCDEF',substr(hy,10,1))<<32)+(instr('123456789ABCDEF',substr(hy,7,1))<<28)+(instr('123456789ABCDEF',substr(hy,8,1))<<24)+(instr('123456789ABCDEF',substr(hy,5,1))<<20)+(instr('123456789ABCDEF',substr(hy,6,1))<<16)+(instr('123456789ABCDEF',substr(hy,3,1))<<12)+(instr('123456789ABCDEF',substr(hy,4,1))<<8)+(instr('123456789ABCDEF',substr(hy,1,1))<<4)+(instr('123456789ABCDEF',substr(hy,2,1))<<0) AS ym,1075-(((instr('123456789ABCDEF',substr(hy,15,1))&7)<<8)+(instr('123456789ABCDEF',substr(hy,16,1))<<4)+instr('123456789ABCDEF',substr(hy,13,1))) AS yk,1-2*(instr('123456789ABCDEF',substr(hy,15,1))>>3) AS ys FROM (SELECT hex(substr(NEW.geom,7,8)) AS hx,hex(substr(NEW.geom,15,8)) AS hy LIMIT 1) LIMIT 1) LIMIT 1) WHERE NEW.geom IS NOT NULL;
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER giu_wells_geom AFTER UPDATE OF geom ON wells WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
 DELETE FROM idx_wells_geom WHERE pkid=OLD.id;
 INSERT OR REPLACE INTO idx_wells_geom(pkid,xmin,xmax,ymin,ymax)
  SELECT NEW.id,x,x,y,y FROM (SELECT CASE WHEN xk=1075 THEN 0.0 ELSE xs*CAST(xm AS REAL)/(1<<min(max(xk,0),62))/(1<<min(max(xk-62,0),62)) END AS x,CASE WHEN yk=1075 THEN 0.0 ELSE ys*CAST(ym AS REAL)/(1<<min(max(yk,0),62))/(1<<min(max(yk-62,0),62)) END AS y FROM (SELECT (1<<52)+(instr('123456789ABCDEF',substr(hx,14,1))<<48)+(instr('123456789ABCDEF',substr(hx,11,1))<<44)+(instr('123456789ABCDEF',substr(hx,12,1))<<40)+(instr('123456789ABCDEF',substr(hx,9,1))<<36)+(instr('123456789ABCDEF',substr(hx,10,1))<<32)+(instr('123456789ABCDEF',substr(hx,7,1))<<28)+(instr('123456789ABCDEF',substr(hx,8,1))<<24)+(instr('123456789ABCDEF',substr(hx,5,1))<<20)+(instr('123456789ABCDEF',substr(hx,6,1))<<16)+(instr('123456789ABCDEF',substr(hx,3,1))<<12)+(instr('123456789ABCDEF',substr(hx,4,1))<<8)+(instr('123456789ABCDEF',substr(hx,1,1))<<4)+(instr('123456789ABCDEF',substr(hx,2,1))<<0) AS xm,1075-(((instr('123456789ABCDEF',substr(hx,15,1))&7)<<8)+(instr('123456789ABCDEF',substr(hx,16,1))<<4)+instr('123456789ABCDEF',substr(hx,13,1))) AS xk,1-2*(instr('123456789ABCDEF',substr(hx,15,1))>>3) AS xs,(1<<52)+(instr('123456789ABCDEF',substr(hy,14,1))<<48)+(instr('123456789ABCDEF',substr(hy,11,1))<<44)+(instr('123456789ABCDEF',substr(hy,12,1))<<40)+(instr('123456789ABCDEF',substr(hy,9,1))<<36)+(instr('123456789ABCDEF',substr(hy,10,1))<<32)+(instr('123456789ABCDEF',substr(hy,7,1))<<28)+(instr('123456789ABCDEF',substr(hy,8,1))<<24)+(instr('123456789ABCDEF',substr(hy,5,1))<<20)+(instr('123456789ABCDEF',substr(hy,6,1))<<16)+(instr('123456789ABCDEF',substr(hy,3,1))<<12)+(instr('123456789ABCDEF',substr(hy,4,1))<<8)+(instr('123456789ABCDEF',substr(hy,1,1))<<4)+(instr('123456789ABCDEF',substr(hy,2,1))<<0) AS ym,1075-(((instr('123456789ABCDEF',substr(hy,15,1))&7)<<8)+(instr('123456789ABCDEF',substr(hy,16,1))<<4)+instr('123456789ABCDEF',substr(hy,13,1))) AS yk,1-2*(instr('123456789ABCDEF',substr(hy,15,1))>>3) AS ys FROM (SELECT hex(substr(NEW.geom,7,8)) AS hx,hex(substr(NEW.geom,15,8)) AS hy LIMIT 1) LIMIT 1) LIMIT 1) WHERE NEW.geom IS NOT NULL;
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER gid_wells_geom AFTER DELETE ON wells WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
 DELETE FROM idx_wells_geom WHERE pkid=OLD.id;
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER wells_outside_insert AFTER INSERT ON wells WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  INSERT INTO commits(at, actor, why) VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'added by another program');
  UPDATE wells SET revision = 1, changed_commit = (SELECT max(no) FROM commits),
    uid = coalesce(uid, lower(hex(randomblob(4)) || '-' || hex(randomblob(2)) || '-4' || substr(hex(randomblob(2)), 2) || '-'
      || substr('89ab', 1 + (random() & 3), 1) || substr(hex(randomblob(2)), 2) || '-' || hex(randomblob(6))))
    WHERE id = NEW.id;
  INSERT OR IGNORE INTO outside(well_id) VALUES (NEW.id);
  DELETE FROM picture WHERE chunk = NEW.id >> 12;
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER wells_outside_update AFTER UPDATE OF number, permit_number, status, purpose, setting, rock_unit, parcel,
  completed, total_depth_m, total_depth_qualifier, depth_to_bedrock_m, depth_to_bedrock_qualifier, yield_lps,
  yield_qualifier, static_level_m, static_level_qualifier, casing_depth_m, ground_elevation_m, accuracy_m, batch_id, batch_row, geom
  ON wells WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  INSERT INTO commits(at, actor, why) VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'edited by another program');
  INSERT OR IGNORE INTO revisions(well_id, revision, until, by, why, image)
    SELECT well_id, revision, strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'edited by another program', doc
    FROM well_records WHERE well_id = NEW.id;
  UPDATE wells SET revision = OLD.revision + 1, changed_commit = (SELECT max(no) FROM commits) WHERE id = NEW.id;
  INSERT OR IGNORE INTO outside(well_id) VALUES (NEW.id);
  DELETE FROM picture WHERE chunk = NEW.id >> 12;
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER wells_outside_delete BEFORE DELETE ON wells WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  INSERT INTO commits(at, actor, why) VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'removed by another program');
  INSERT OR IGNORE INTO revisions(well_id, revision, until, by, why, image)
    SELECT well_id, revision, strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'removed by another program', doc
    FROM well_records WHERE well_id = OLD.id;
  INSERT OR REPLACE INTO removed(well_id, uid, removed_commit) VALUES (OLD.id, OLD.uid, (SELECT max(no) FROM commits));
  UPDATE plates SET well_id = NULL, linked_by = NULL, linked_at = NULL WHERE well_id = OLD.id;
  INSERT INTO own_write VALUES (1);
  DELETE FROM strata WHERE well_id = OLD.id;
  DELETE FROM well_records WHERE well_id = OLD.id;
  DELETE FROM own_write;
  DELETE FROM outside WHERE well_id = OLD.id;
  DELETE FROM picture WHERE chunk = OLD.id >> 12;
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER wells_keep_names BEFORE UPDATE OF id, uid, revision ON wells
  WHEN (NEW.id IS NOT OLD.id OR (OLD.uid IS NOT NULL AND NEW.uid IS NOT OLD.uid)) AND NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  SELECT raise(ABORT, 'the id and uid of a well never change');
END;
-- +goose StatementEnd

-- Rows written from the records, where a change would be lost or would make
-- a record that cannot be read.
-- +goose StatementBegin
CREATE TRIGGER well_records_outside_update BEFORE UPDATE ON well_records WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  SELECT raise(ABORT, 'records are edited in the program, or in the columns of wells');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER well_records_outside_delete BEFORE DELETE ON well_records WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  SELECT raise(ABORT, 'a record is removed by deleting its row of wells');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER strata_outside_update BEFORE UPDATE ON strata WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  SELECT raise(ABORT, 'strata are written from the record: edit them in the program');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER strata_outside_delete BEFORE DELETE ON strata WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  SELECT raise(ABORT, 'strata are written from the record: edit them in the program');
END;
-- +goose StatementEnd

-- Whether a well has a plate is part of its picture.
-- +goose StatementBegin
CREATE TRIGGER plates_outside_update AFTER UPDATE OF well_id ON plates WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  INSERT INTO commits(at, actor, why) VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'plate linked by another program');
  UPDATE wells SET changed_commit = (SELECT max(no) FROM commits) WHERE id IN (OLD.well_id, NEW.well_id);
  DELETE FROM picture WHERE chunk IN (OLD.well_id >> 12, NEW.well_id >> 12);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER plates_outside_delete AFTER DELETE ON plates WHEN NOT EXISTS (SELECT 1 FROM own_write) BEGIN
  INSERT INTO commits(at, actor, why) VALUES (strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'outside', 'plate removed by another program');
  UPDATE wells SET changed_commit = (SELECT max(no) FROM commits) WHERE id = OLD.well_id;
  DELETE FROM picture WHERE chunk = OLD.well_id >> 12;
END;
-- +goose StatementEnd
