import { expect, onTestFinished, test, vi } from 'vitest'
import { openGenealogy } from '../../services/serve/genealogy.ts'
import { settingsFrom } from '../../services/settings.ts'
import { readStopped } from '../../services/store/stopped.ts'
import { journalOver } from '../../services/watch/journal.ts'
import { Measures } from '../../services/watch/measures.ts'
import { shift } from '../genealogy/events.ts'
import { openLog } from '../genealogy/house.ts'
import { onEachDatabase } from '../store/databases.ts'

onEachDatabase('Genealogy as a service', (database) => {
  async function open() {
    const log = await openLog(1)
    onTestFinished(() => log[Symbol.asyncDispose]())
    const lines: string[] = []
    const write = (line: string) => lines.push(line)
    const journal = journalOver({ service: 'genealogy', terminal: false, write, now: () => 0 })
    const start = async (measures = new Measures()) => {
      const ground = { settings: settingsFrom({}), journal, measures, store: database.store }
      const genealogy = await openGenealogy({ ...ground, log: log.log })
      onTestFinished(() => genealogy.stop())
      return genealogy
    }
    return { log, lines, start }
  }

  test('measures what it writes and what it sets aside, and notes that with its trace', async () => {
    const { log, lines, start } = await open()
    const measures = new Measures()
    const genealogy = await start(measures)
    expect([genealogy.troubles(), genealogy.broken?.()]).toEqual([[], undefined])
    const trace = '4bf92f3577b34da6a3ce929d0e0e4736'
    const more = { traceparent: `00-${trace}-00f067aa0ba902b7-01` }
    await log.say([...shift(1), { type: 'melt.heat-tapped.v1', id: 'bad', data: {}, more }])
    await genealogy.settled()
    const text = await measures.text()
    for (const line of [
      'heat_to_pan_written_total{topic="melt",as="set aside"} 1',
      'heat_to_pan_set_aside{class="SCHEMA"} 1',
      'heat_to_pan_log_lag{topic="melt"} 0',
    ])
      expect(text.split('\n')).toContain(line)
    expect(text).toMatch(/^heat_to_pan_write_seconds_count [1-9]/m)
    expect(lines.map((line) => JSON.parse(line))).toContainEqual(
      expect.objectContaining({ topic: 'melt', class: 'SCHEMA', trace_id: trace }),
    )
  })

  test('notes a partition whose database is ahead of the log as an alarm, and takes in the others', async () => {
    const { log, lines, start } = await open()
    await log.say(shift(2))
    const first = await start()
    await first.settled()
    await first.stop()
    await database.store.pool.query(
      "update position set next_offset = next_offset + 1000 where topic = 'melt'",
    )
    const again = await start()
    await expect(again.settled()).rejects.toMatchObject({ code: 'LOG_OUT_OF_RANGE' })
    expect(again.notes?.()).toEqual([expect.stringMatching(/^LOG_OUT_OF_RANGE: melt\/0 .* ahead/)])
    expect(again.broken?.()).toBeUndefined()
    await vi.waitFor(async () =>
      expect(await readStopped(database.store.pool)).toEqual([
        { topic: 'melt', partition: 0, why: 'LOG_OUT_OF_RANGE' },
      ]),
    )
    const alarm = lines.map((line) => JSON.parse(line)).find(({ level }) => level === 'error')
    expect(alarm.message).toContain('the others go on')
    const lot = { type: 'receive.lot-received.v1', id: 'another', data: { lot: 'L-9' } }
    await log.say([lot])
    await vi.waitFor(async () => {
      const { rows } = await database.store.pool.query(
        "select next_offset::int as next from position where topic = 'receive'",
      )
      expect(rows[0].next).toBeGreaterThan(2)
    })
    // What was wrong is put right: it is read again, though nothing new comes.
    await again.stop()
    await database.store.pool.query(
      "update position set next_offset = next_offset - 1000 where topic = 'melt'",
    )
    await (await start()).settled()
    expect(await readStopped(database.store.pool)).toEqual([])
  })

  test('notes a flood of bad events as an alarm that stands', async () => {
    const { log, lines, start } = await open()
    const genealogy = await start()
    await log.say(shift(1))
    await genealogy.settled()
    const bad = (i: number) => ({ type: 'melt.heat-tapped.v1', id: `bad-${i}`, data: {} })
    await log.say(Array.from({ length: 150 }, (_, i) => bad(i)))
    await vi.waitFor(() => expect(genealogy.notes?.()).toHaveLength(1))
    expect(genealogy.notes?.()[0]).toMatch(/^FLOOD_OF_BAD_EVENTS: /)
    const stopped = [{ topic: 'melt', partition: 0, why: 'FLOOD_OF_BAD_EVENTS' }]
    await vi.waitFor(async () => expect(await readStopped(database.store.pool)).toEqual(stopped))
    expect(lines.map((line) => JSON.parse(line).level)).toContain('error')
  })
})
