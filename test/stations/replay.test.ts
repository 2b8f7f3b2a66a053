import { describe, expect, test } from 'vitest'
import { decode } from '../../services/events/envelope.ts'
import { replayed, type SetAside } from '../../services/stations/replay.ts'
import { tap, tapData } from './said.ts'

const NOW = Date.parse('2026-04-01T12:00:00Z')
const RECORDED = '2026-03-02T12:41:00Z'
const HOW = { by: 'QE-7', now: NOW }

function aside(event: object, more: Partial<SetAside> = {}): SetAside {
  const bytes = Buffer.from(JSON.stringify(event))
  return { topic: 'melt', partition: 1, offset: 12n, station: 'melt', bytes, ...more }
}

const bytes = (event: object) => Buffer.from(JSON.stringify(event))

/** What the log would have, read again as genealogy reads it. */
function readAgain(entry: { value: Uint8Array }) {
  const decoded = decode(entry.value, { topic: 'melt' })
  if (!decoded.ok) throw new Error(decoded.reason)
  return decoded
}

describe('A report that was set aside', () => {
  test('goes again as it came when it can be read now, and says where it stood and who it was', () => {
    const said = { ...tap(1), recordedtime: RECORDED, colour: 'red' }
    const result = replayed(aside(said), HOW)
    if (!result.ok) throw new Error(result.reason)
    const { statement, flags } = readAgain(result.entry)
    expect(statement).toMatchObject({ id: 'tap-1', recorded: NOW, entered: tapData(1) })
    expect(statement.carried).toEqual({ colour: 'red', replayof: 'melt/1/12', replayedby: 'QE-7' })
    expect(flags).toContain('it had been set aside at melt/1/12 and was replayed by QE-7')
    expect(result.entry.key).toBe(statement.source)
  })

  test('stays where it is while it still cannot be read', () => {
    const { kg: _, ...data } = tapData(1) as { kg: number }
    const result = replayed(aside({ ...tap(1), data, recordedtime: RECORDED }), HOW)
    expect(result).toMatchObject({ ok: false, class: 'SCHEMA' })
  })

  test('cannot come by the topic of a station it is not of', () => {
    const forged = aside({ ...tap(1), recordedtime: RECORDED }, { topic: 'pour', station: 'pour' })
    expect(replayed(forged, HOW)).toMatchObject({ ok: false, class: 'FORGED' })
  })

  test('is another event when it was put right, and supersedes what came', () => {
    const came = { ...tap(1, { data: tapData(1, { kg: -4 }) }), recordedtime: RECORDED }
    const result = replayed(aside(came), { ...HOW, edited: bytes(tap(1)) })
    if (!result.ok) throw new Error(result.reason)
    expect(readAgain(result.entry).statement).toMatchObject({
      ...{ id: 'tap-1-replayed-12', supersedes: 'tap-1', recorded: NOW },
    })
  })

  test('keeps the id it is given when nothing else had it', () => {
    const torn = aside({}, { bytes: Buffer.from('{"specversion":"1.0","id":"tap-') })
    const result = replayed(torn, { ...HOW, edited: bytes(tap(1)) })
    expect(result).toMatchObject({ ok: true, statement: { id: 'tap-1' } })
    expect(result).not.toHaveProperty('statement.supersedes')
  })

  test('is held to what doors hold reports to when it was put right by hand', () => {
    const came = aside({ ...tap(1), data: {} })
    for (const edited of [
      tap(1, { data: tapData(1, { celcius: 1400 }) }),
      tap(1, { replayof: 'melt/0/1' }),
      tap(1, { replayedby: 'somebody else' }),
    ])
      expect(replayed(came, { ...HOW, edited: bytes(edited) })).toMatchObject({ ok: false })
  })

  test('is replayed by somebody', () => {
    for (const by of ['', 'a\nb', 'x'.repeat(101)])
      expect(() => replayed(aside(tap(1)), { ...HOW, by })).toThrow('Say who replays it')
  })
})

test('no station can say that it replays anything', () => {
  for (const said of [{ replayof: 'melt/0/1' }, { replayedby: 'QE-7' }])
    expect(decode(bytes(tap(1, said)), { recorded: NOW })).toMatchObject({
      ...{ ok: false, reason: expect.stringContaining('is said by the house alone') },
    })
})
