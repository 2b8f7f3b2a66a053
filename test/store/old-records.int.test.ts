import { expect, onTestFinished, test } from 'vitest'
import { connect } from '../../services/store/connect.ts'
import { noteFollowedLog, noteLevel } from '../../services/store/followed-log.ts'
import { migrate } from '../../services/store/migrate.ts'
import { dropOldRecords } from '../../services/store/old-records.ts'
import { readOtherRecords } from '../../services/store/place.ts'
import { onPostgres } from '../log/real-postgres.ts'

const DAY_MS = 86_400_000

test('of the records of other versions the newest that was level is kept, and what is in use', async ({
  skip,
}) => {
  const postgres = await onPostgres(skip)
  onTestFinished(() => postgres.drop())
  const ours = await connect({ url: postgres.url, schema: 'record_now' })
  onTestFinished(() => ours.close())
  await migrate(ours)

  /** The record of another version: when it was level, and how long ago it was last written. */
  const made = async (name: string, levelled: number | undefined, writtenDaysAgo: number) => {
    const store = await connect({ url: postgres.url, schema: `record_${name}` })
    await migrate(store)
    await noteFollowedLog(store, 'brokers')
    if (levelled !== undefined) await noteLevel(store.pool, levelled)
    await store.pool.query(
      `insert into position (topic, partition, next_offset, projection, updated)
       values ('melt', 0, 9, $1, now() - make_interval(days => $2))`,
      [name, writtenDaysAgo],
    )
    await store.close()
  }
  await made('oldest', 1 * DAY_MS, 30)
  await made('before', 9 * DAY_MS, 3)
  await made('older_in_use', 5 * DAY_MS, 0)
  await made('abandoned', undefined, 20)
  await made('in_the_making', undefined, 0)
  await ours.pool.query('create schema record_of_somebody_else')

  const all = ['abandoned', 'before', 'in_the_making', 'of_somebody_else', 'older_in_use', 'oldest']
  expect(await readOtherRecords(ours.pool)).toEqual(all.map((name) => `record_${name}`))
  expect(await dropOldRecords(ours.pool)).toEqual({
    kept: ['before', 'in_the_making', 'of_somebody_else', 'older_in_use'].map(
      (name) => `record_${name}`,
    ),
    dropped: ['record_abandoned', 'record_oldest'],
  })
  expect(await readOtherRecords(ours.pool)).not.toContain('record_oldest')
  expect((await dropOldRecords(ours.pool)).dropped).toEqual([])
})
