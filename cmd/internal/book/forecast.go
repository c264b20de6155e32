package book

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"feedline/planner/forecast"
)

// forecastVersion is the version of a stored forecast's document; a book with another is read as if there were none, for a forecast can be made anew.
const forecastVersion = 1

type forecastBody struct {
	Version int
	Result  *forecast.Result
}

// SaveForecast keeps r as the forecast of the stored plan id, in place of one before; without its two-stage plan, which reports do not show.
func (b *Book) SaveForecast(ctx context.Context, id int64, r *forecast.Result) error {
	kept := *r
	kept.OrderNow = nil
	body, err := json.Marshal(forecastBody{forecastVersion, &kept})
	if err != nil {
		return fmt.Errorf("store the forecast: %w", err)
	}
	return b.write(ctx, func(tx *sql.Tx) error {
		if err := b.may(ctx, tx, RightPlan); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO forecasts (plan, at, body) VALUES (?, ?, ?) ON CONFLICT (plan) DO UPDATE SET at = excluded.at, body = excluded.body", id, b.now(), string(body))
		return err
	})
}

// Forecast is the forecast kept of the stored plan id; nil if there is none.
func (b *Book) Forecast(ctx context.Context, id int64) (r *forecast.Result, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		var body []byte
		err := tx.QueryRowContext(ctx, "SELECT body FROM forecasts WHERE plan = ?", id).Scan(&body)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		var f forecastBody
		if err := json.Unmarshal(body, &f); err != nil {
			return damaged("the forecast of plan %d: %v", id, err)
		}
		if f.Version == forecastVersion {
			r = f.Result
		}
		return nil
	})
	return r, err
}
