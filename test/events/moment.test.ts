import { describe, expect, it } from 'vitest'
import { momentOf, momentText, offsetMinutesOf } from '../../services/events/moment.ts'

describe('A moment', () => {
  it.each([
    // RFC 3339, section 5.8, from memory; the same instants by the platform's own reading.
    ['1985-04-12T23:20:50.52Z', Date.UTC(1985, 3, 12, 23, 20, 50, 520)],
    ['1996-12-19T16:39:57-08:00', Date.UTC(1996, 11, 20, 0, 39, 57)],
    ['1990-12-31T23:59:60Z', Date.UTC(1991, 0, 1)],
    ['1990-12-31T15:59:60-08:00', Date.UTC(1991, 0, 1)],
    ['1937-01-01T12:00:27.87+00:20', Date.UTC(1937, 0, 1, 11, 40, 27, 870)],
    ['2024-02-29t06:00:00.123456789z', Date.UTC(2024, 1, 29, 6, 0, 0, 123)],
    ['0099-01-01T00:00:00Z', new Date('0099-01-01T00:00:00Z').getTime()],
  ])('%s is %d ms', (text, ms) => {
    expect(momentOf(text)).toBe(ms)
  })

  it.each([
    '2026-03-02',
    '2026-03-02T06:40:00',
    '2026-03-02 06:40:00Z',
    '2026-02-29T06:40:00Z',
    '2026-13-01T06:40:00Z',
    '2026-04-31T06:40:00Z',
    '2026-03-02T24:00:00Z',
    '2026-03-02T06:60:00Z',
    '2026-03-02T06:40:00+24:00',
    '2026-03-02T06:40:00-6',
    '2026-03-02T06:40:00.Z',
    '+002026-03-02T06:40:00Z',
    '',
  ])('%s is none', (text) => {
    expect(momentOf(text)).toBeUndefined()
  })

  it.each([
    ['2026-03-02T06:40:00-06:00', -360],
    ['2026-03-02T06:40:00.5+05:30', 330],
    ['2026-03-02T06:40:00Z', 0],
  ])('%s is so far from universal time', (text, minutes) => {
    expect(offsetMinutesOf(text)).toBe(minutes)
  })

  it('is written in universal time to the millisecond', () => {
    expect(momentText(momentOf('2026-03-02T06:40:00.5-06:00')!)).toBe('2026-03-02T12:40:00.500Z')
  })
})
