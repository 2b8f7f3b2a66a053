import { beforeEach, expect, test } from 'vitest'
import { Current } from '../../services/query/record/current.ts'
import { RecordReplacedError, Snapshot } from '../../services/query/record/snapshot.ts'
import type { Store } from '../../services/store/connect.ts'
import { emptyRecord } from '../../services/store/empty.ts'
import { emptyStore, Record } from './record.ts'
import { DAY } from './small-plant.ts'

let store: Store

beforeEach(async () => {
  store = await emptyStore()
  return () => store.close()
})

test('it follows what is written, and knows since when it is level', async () => {
  const current = new Current(store)
  expect(current.levelMs).toBeUndefined()
  const empty = await current.refresh()
  await new Record(store).say(...DAY)
  const before = Date.now()
  expect(await current.refresh()).toBe(empty)
  expect(current.levelMs).toBeGreaterThanOrEqual(before)
  expect(empty.positions.size).toBeGreaterThan(0)
})

test.each(['emptied', 'emptied and made anew', 'made anew by another version'])(
  'a record that was %s under it is read from its beginning',
  async (how) => {
    await new Record(store).say(...DAY)
    const [current, alone] = [new Current(store), new Snapshot(store)]
    const first = await current.refresh()
    await alone.refresh()
    if (how.startsWith('emptied')) await emptyRecord(store)
    if (how === 'emptied and made anew') await new Record(store).say(DAY[0]!)
    if (how.includes('another')) await store.pool.query(`update position set projection = 'other'`)
    await expect(alone.refresh()).rejects.toThrow(RecordReplacedError)
    const second = await current.refresh()
    expect(second).not.toBe(first)
    expect(current.snapshot).toBe(second)
    const { rows } = await store.pool.query(
      `select topic || '/' || partition as place, next_offset as next from position`,
    )
    expect(new Map(rows.map(({ place, next }) => [place, BigInt(next)]))).toEqual(second.positions)
  },
)
