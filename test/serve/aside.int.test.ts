import { writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { beforeEach, expect, test } from 'vitest'
import { fingerprint } from '../../services/genealogy/fingerprint.ts'
import { readRecord } from '../../services/genealogy/reading.ts'
import { rebuild } from '../../services/genealogy/rebuild.ts'
import { runAside } from '../../services/serve/aside.ts'
import { settingsFrom } from '../../services/settings.ts'
import { setAside } from '../../services/store/kept-record.ts'
import { countSetAsideByClass, countSetAsideSince } from '../../services/store/read-aside.ts'
import { writeSlice } from '../../services/store/write.ts'
import { entry, type Said } from '../genealogy/events.ts'
import { openLog, type TestLog, takeAll } from '../genealogy/house.ts'
import { newFolder } from '../stations/folders.ts'
import { onEachDatabase } from '../store/databases.ts'

const NOW = Date.parse('2026-04-01T12:00:00Z')

const tap = (id: string, kg: unknown): Said => ({
  ...{ type: 'melt.heat-tapped.v1', id },
  data: { heat: 'H-1', furnace: 'F1', ladle: `L-${id}`, kg: kg as number },
})

onEachDatabase('npm run aside', (database) => {
  let log: TestLog
  let said: string[]

  beforeEach(async () => {
    log = await openLog(1)
    said = []
    return () => log[Symbol.asyncDispose]()
  })

  const run = (...words: string[]) =>
    runAside({
      ...{ settings: settingsFrom({}), words, store: database.store, log: log.log },
      ...{ now: () => NOW, say: (line) => said.push(line) },
    })

  async function file(said: Said): Promise<string> {
    const path = join(await newFolder(), 'edited.json')
    await writeFile(path, entry(said).value)
    return path
  }

  test('lists and shows what was set aside, with nothing in it that a terminal obeys', async () => {
    await log.say([tap('good', 500), tap('bad', 'much'), tap('worse', '\u001b[2Jmuch')])
    await takeAll(log.log, database.store)
    expect(await run('list')).toBe(0)
    expect(said).toHaveLength(3)
    expect(said.at(-1)).toBe('2 set aside and not replayed.')
    expect(said.join('\n')).toMatch(/^melt\/0\/1 {2}SCHEMA {2}2026-03-02T12:01:00.000Z .* kg /m)
    expect(await run('list', '--class', 'FORGED')).toBe(0)
    expect(said.at(-1)).toBe('0 set aside and not replayed.')
    said = []
    expect(await run('show', 'melt/0/2')).toBe(0)
    expect(said.join('\n')).toContain('"kg": "')
    expect(said.join('\n')).not.toContain('\u001b')
  })

  test('replays what somebody has put right: once, audited, and the same after a rebuild', async () => {
    await log.say([tap('bad', 'much')])
    await takeAll(log.log, database.store)
    expect(await run('replay', 'melt/0/0', '--by', 'QE-7')).toBe(1)
    expect(said.join('\n')).toContain('still cannot be read')
    const edited = await file(tap('bad', 480))
    expect(await run('replay', 'melt/0/0', '--by', 'QE-7', '--edited', edited)).toBe(0)
    expect(said.at(-1)).toBe('melt/0/0 stands in the log again at melt/0/1, replayed by QE-7.')
    await takeAll(log.log, database.store)
    const { rows } = await database.store.pool.query(
      `select id, supersedes, flags, carried, recorded::float8, in_force.topic is not null as holds
       from statement left join in_force using (topic, partition, "offset")`,
    )
    expect(rows).toEqual([
      {
        ...{ id: 'bad-replayed-0', supersedes: 'bad', recorded: NOW, holds: true },
        flags: ['it had been set aside at melt/0/0 and was replayed by QE-7'],
        carried: { replayof: 'melt/0/0', replayedby: 'QE-7' },
      },
    ])
    await expect(run('replay', 'melt/0/0', '--by', 'X', '--edited', edited)).rejects.toThrow(
      'melt/0/0 was replayed by QE-7 already.',
    )
    await run('list')
    expect(said.at(-1)).toBe('0 set aside and not replayed.')
    await run('list', '--all')
    expect(said.at(-2)).toMatch(/^melt\/0\/0 .* Replayed by QE-7\.$/)
    const print = await fingerprint(database.store)
    const parts = { log: log.log, store: database.store, now: () => 0, tell: () => undefined }
    await rebuild(parts)
    expect(await fingerprint(database.store)).toBe(print)
    await run('list')
    expect(said.at(-1)).toBe('0 set aside and not replayed.')
  })

  test('replays as it came what the program has learnt to read since', async () => {
    await log.say([tap('early', 500)])
    const [record] = await log.log.read('melt', 0, 0n, 1)
    const read = readRecord(record!, 'melt', NOW)
    // As the program before this one has left it.
    const before = setAside(read as Parameters<typeof setAside>[0], 'It could not be worked out.')
    const slice = { topic: 'melt', partition: 0, projection: 'test', records: [before] }
    await writeSlice(database.store, slice)
    expect(await run('replay', 'melt/0/0', '--by', 'QE-7')).toBe(0)
    const [again] = await log.log.read('melt', 0, 1n, 1)
    await writeSlice(database.store, { ...slice, records: [readRecord(again!, 'melt', NOW)] })
    await run('list')
    expect(said.at(-1)).toBe('0 set aside and not replayed.')
  })

  test('leaves open what was open then, and what another topic claims to have replayed', async () => {
    await log.say([tap('bad', 'much')])
    await log.say([
      {
        ...{ type: 'receive.lot-received.v1', id: 'claims' },
        data: { lot: 'P-1', material: 'pig iron', role: 'metallic', kg: 900, supplier: 'S1' },
        more: { replayof: 'melt/0/0', replayedby: 'nobody' },
      },
    ])
    await takeAll(log.log, database.store)
    const open = () => countSetAsideByClass(database.store.pool)
    expect((await open()).get('SCHEMA')).toBe(1)
    await run('replay', 'melt/0/0', '--by', 'QE-7', '--edited', await file(tap('bad', 480)))
    await takeAll(log.log, database.store)
    expect((await open()).get('SCHEMA')).toBeUndefined()
    const since = (until: number) => countSetAsideSince(database.store.pool, 'north', 0, until)
    expect(await since(NOW - 1)).toBe(1)
    expect(await since(NOW)).toBe(0)
  })

  test('says in one sentence what it cannot do', async () => {
    for (const [words, sentence] of [
      [[], 'Say what to do'],
      [['list', 'melt/0/1'], 'Say what to do'],
      [['replay'], 'Say what to do'],
      [['show', '../../etc'], 'is no place'],
      [['show', 'melt/0/5'], 'Nothing was set aside at melt/0/5.'],
    ] as const)
      await expect(run(...words)).rejects.toThrow(sentence)
    await log.say([tap('bad', 'much')])
    await takeAll(log.log, database.store)
    await expect(run('replay', 'melt/0/0')).rejects.toThrow('Say who replays it')
  })
})
