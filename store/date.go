package store

import (
	"context"
	"database/sql/driver"
	"encoding/binary"
	"fmt"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"pryday/scheduler"
)

// dateCodec carries a scheduler.Date as Postgres keeps it, as days from a day
// in 2000, without a detour over instants. The zero Date is null.
type dateCodec struct{ pgtype.DateCodec }

// postgresEpoch is the day from which Postgres counts.
var postgresEpoch = scheduler.NewDate(2000, 1, 1)

func registerDates(_ context.Context, conn *pgx.Conn) error {
	m := conn.TypeMap()
	date := &pgtype.Type{Name: "date", OID: pgtype.DateOID, Codec: dateCodec{}}
	m.RegisterType(date)
	m.RegisterType(&pgtype.Type{Name: "_date", OID: pgtype.DateArrayOID, Codec: &pgtype.ArrayCodec{ElementType: date}})
	m.RegisterDefaultPgType(scheduler.Date(0), "date")
	return nil
}

// PlanEncode implements pgtype.Codec.
func (c dateCodec) PlanEncode(m *pgtype.Map, oid uint32, format int16, value any) pgtype.EncodePlan {
	if _, ok := value.(scheduler.Date); ok {
		if format == pgtype.BinaryFormatCode {
			return encodeDate{}
		}
		return encodeDateText{}
	}
	return c.DateCodec.PlanEncode(m, oid, format, value)
}

// PlanScan implements pgtype.Codec.
func (c dateCodec) PlanScan(m *pgtype.Map, oid uint32, format int16, target any) pgtype.ScanPlan {
	if _, ok := target.(*scheduler.Date); ok {
		if format == pgtype.BinaryFormatCode {
			return scanDate{}
		}
		return scanDateText{}
	}
	return c.DateCodec.PlanScan(m, oid, format, target)
}

// DecodeValue implements pgtype.Codec.
func (c dateCodec) DecodeValue(m *pgtype.Map, oid uint32, format int16, src []byte) (any, error) {
	return c.DateCodec.DecodeValue(m, oid, format, src)
}

// DecodeDatabaseSQLValue implements pgtype.Codec.
func (c dateCodec) DecodeDatabaseSQLValue(m *pgtype.Map, oid uint32, format int16, src []byte) (driver.Value, error) {
	return c.DateCodec.DecodeDatabaseSQLValue(m, oid, format, src)
}

type encodeDate struct{}

func (encodeDate) Encode(value any, buf []byte) ([]byte, error) {
	d := value.(scheduler.Date)
	if d.IsZero() {
		return nil, nil
	}
	return binary.BigEndian.AppendUint32(buf, uint32(int32(d-postgresEpoch))), nil
}

type encodeDateText struct{}

func (encodeDateText) Encode(value any, buf []byte) ([]byte, error) {
	d := value.(scheduler.Date)
	if d.IsZero() {
		return nil, nil
	}
	return append(buf, d.String()...), nil
}

type scanDate struct{}

func (scanDate) Scan(src []byte, target any) error {
	d := target.(*scheduler.Date)
	if src == nil {
		*d = 0
		return nil
	}
	if len(src) != 4 {
		return fmt.Errorf("a date has 4 bytes, not %d", len(src))
	}
	days := int32(binary.BigEndian.Uint32(src))
	if days == 1<<31-1 || days == -1<<31 {
		return fmt.Errorf("an infinite date is no day")
	}
	*d = scheduler.Date(days) + postgresEpoch
	return nil
}

type scanDateText struct{}

func (scanDateText) Scan(src []byte, target any) error {
	return target.(*scheduler.Date).UnmarshalText(src)
}
