-- The forecast made last of a plan, a document of its own version: for the console and reports, made anew at any time.

-- +goose Up
PRAGMA user_version = 5;

CREATE TABLE forecasts (
	plan INTEGER PRIMARY KEY REFERENCES plans,
	at   TEXT NOT NULL, -- RFC 3339, UTC
	body TEXT NOT NULL CHECK (json_valid(body))
) STRICT;
