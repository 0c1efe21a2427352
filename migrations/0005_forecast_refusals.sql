-- Wells of which somebody said that they are not the outcome of a forecast, so
-- that they are not proposed again.
-- +goose Up
ALTER TABLE forecast_links ADD COLUMN refused TEXT; -- uids, a JSON array; NULL for none
