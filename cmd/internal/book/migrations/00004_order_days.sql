-- Weekdays on which a lane takes orders, Monday first, a hyphen for the others; none is every day.

-- +goose Up
PRAGMA user_version = 4;

ALTER TABLE lanes ADD COLUMN order_days TEXT NOT NULL DEFAULT '-------' CONSTRAINT "order_days: weekdays" CHECK (order_days GLOB '[-M][-T][-W][-T][-F][-S][-S]');
