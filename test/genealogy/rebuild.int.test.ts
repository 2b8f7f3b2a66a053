import { execFile } from 'node:child_process'
import { hash } from 'node:crypto'
import { mkdtemp, readdir, rm, truncate } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { promisify } from 'node:util'
import { expect, it } from 'vitest'
import { fingerprint } from '../../services/genealogy/fingerprint.ts'
import { prepareRecord } from '../../services/genealogy/prepare.ts'
import { rebuild } from '../../services/genealogy/rebuild.ts'
import { lockFolder } from '../../services/log/segment/folder-lock.ts'
import { openSegmentLog } from '../../services/log/segment/segment.ts'
import { topicsOf } from '../../services/log/topics.ts'
import { connect, type Store } from '../../services/store/connect.ts'
import { emptyRecord } from '../../services/store/empty.ts'
import { onEachDatabase } from '../store/databases.ts'
import { type Said, shift } from './events.ts'
import { openLog, say, takeAll } from './house.ts'

/** The fingerprint of events said in this order, with so many partitions. */
async function fingerprintOf(
  store: Store,
  events: readonly Said[],
  { partitions = 2, forget = false } = {},
): Promise<string> {
  await using house = await openLog(partitions)
  await emptyRecord(store)
  if (forget) await store.pool.query('truncate thing restart identity')
  await house.say(events)
  await takeAll(house.log, store)
  return fingerprint(store)
}

/** The same events in another order; `turn` chooses which. */
function shuffled<T>(list: readonly T[], turn: number): T[] {
  const left = list.slice()
  let state = turn + 1
  const order: T[] = []
  while (left.length > 0) {
    state = (state * 48_271) % 2_147_483_647
    order.push(left.splice(state % left.length, 1)[0]!)
  }
  return order
}

const EMPTY = hash('sha256', '', 'hex')
const onBoth: string[] = []

onEachDatabase('The fingerprint', (database) => {
  const events = shift(12)

  it('of a database rebuilt from the log is that of the one that grew with it', async () => {
    await using house = await openLog()
    for (let first = 0; first < events.length; first += 9) {
      await house.say(events.slice(first, first + 9))
      await takeAll(house.log, database.store)
    }
    const grown = await fingerprint(database.store)
    const told: string[] = []
    let clock = 0
    const rebuilt = await rebuild({
      log: house.log,
      store: database.store,
      now: () => (clock += 1_000),
      tell: (line) => told.push(line),
    })
    expect(rebuilt).toEqual({ records: 72, statements: 72, facts: 93, setAside: 0 })
    expect(told[0]).toMatch(/^\d+ of 72 records read\.$/)
    expect(await fingerprint(database.store)).toBe(grown)
    onBoth.push(grown)
    expect(onBoth.every((each) => each === grown)).toBe(true)
  })

  it('is the same whatever the order of arrival, the partitions and the numbers of things', async () => {
    const straight = await fingerprintOf(database.store, events)
    for (let turn = 0; turn < 6; turn++) {
      const order = shuffled(events, turn)
      const partitions = [1, 2, 5][turn % 3]!
      const options = { partitions, forget: turn % 2 === 0 }
      expect(await fingerprintOf(database.store, order, options), `turn ${turn}`).toBe(straight)
    }
  })

  it('is the same when events come twice or three times', async () => {
    const straight = await fingerprintOf(database.store, events)
    const again = shuffled([...events, ...events.slice(20, 60), ...events.slice(50)], 3)
    expect(await fingerprintOf(database.store, again)).toBe(straight)
  })

  it('is another when one number, one name or one moment is another, or one event is missing', async () => {
    const straight = await fingerprintOf(database.store, events)
    const tap = events.findIndex(({ id }) => id === 'tap-3-2')
    const changed: Said[][] = [
      events.with(tap, { ...events[tap]!, data: { ...events[tap]!.data, kg: 402.0001 } }),
      events.with(tap, { ...events[tap]!, machine: 'F9' }),
      events.with(tap, { ...events[tap]!, late: 2 }),
      events.toSpliced(tap, 1),
    ]
    const prints = []
    for (const list of changed) prints.push(await fingerprintOf(database.store, list))
    expect(new Set([straight, ...prints]).size).toBe(5)
  })

  it('of nothing is the SHA-256 of nothing', async () => {
    expect(await fingerprint(database.store)).toBe(EMPTY)
  })
})

it('a deleted database folder is made again from the log, with the same fingerprint', async () => {
  await using house = await openLog()
  await house.say(shift(6))
  const folder = await mkdtemp(join(tmpdir(), 'deleted-'))
  const prints = []
  for (let round = 0; round < 2; round++) {
    const store = await connect({ folder: join(folder, 'database') })
    await prepareRecord(store, () => undefined)
    await takeAll(house.log, store)
    prints.push(await fingerprint(store))
    await store.close()
    await rm(folder, { recursive: true })
    await house.restart()
  }
  expect(prints[1]).toBe(prints[0])
  expect(prints[0]).not.toBe(EMPTY)
})

it('npm run rebuild ends with counts and the fingerprint, and leaves a folder in use alone', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'rebuild-'))
  const log = await openSegmentLog({
    folder: join(folder, 'log'),
    topics: topicsOf(),
    partitions: 4,
  })
  await say(log, shift(4))
  await log.append('melt', [{ key: 'k', value: Buffer.from('no event') }])
  await log.close()
  const run = () =>
    promisify(execFile)(
      process.execPath,
      [join(import.meta.dirname, '../../services/genealogy/rebuild.ts')],
      { env: { ...process.env, HEAT_TO_PAN_DATA: folder, HEAT_TO_PAN_DATABASE: '' } },
    )
  const lock = await lockFolder(folder)
  await expect(run()).rejects.toMatchObject({ stderr: expect.stringContaining('is in use by') })
  await lock.release()
  const { stdout } = await run()
  expect(stdout).toMatch(
    // How far it came is told where it takes long.
    /^(?:\d+ of 25 records read\.\n)*Rebuilt from 25 records in [\d.]+ s: 24 statements with 31 facts, 1 set aside\.\nFingerprint [0-9a-f]{64}\n$/,
  )
  const database = join(folder, 'database')
  await truncate(join(database, 'global', 'pg_control'), 100)
  await expect(connect({ folder: database })).rejects.toThrow('npm run rebuild')
  const again = await run()
  expect(again.stdout).toMatch(/cannot be opened .* It was set aside as .*database\.damaged-/)
  expect(again.stdout.split('\n').slice(-2)).toEqual(stdout.split('\n').slice(-2))
  expect((await readdir(folder)).filter((name) => name.startsWith('database'))).toHaveLength(2)
  await rm(folder, { recursive: true })
})
