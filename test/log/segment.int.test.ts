import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { openSegmentLog, partitionOf } from '../../services/log/segment/segment.ts'
import { topicsOf } from '../../services/log/topics.ts'
import { logContract } from '../contract/log-contract.ts'

logContract('the segment log', () => segmentFixture({}))
// So small that every few records begin a new file, and reads go over many.
logContract('the segment log with small files', () => segmentFixture({ segmentBytes: 300 }))

test('a partition whose batches are never taken holds no other up', async () => {
  await using stack = new AsyncDisposableStack()
  const fixture = await segmentFixture({})
  stack.defer(() => fixture.drop())
  const log = await fixture.open()
  stack.defer(() => log.close())
  const entries = Array.from({ length: 200 }, (_, i) => ({
    key: `key-${i}`,
    value: Buffer.from(`${i}`),
  }))
  await log.append('melt', entries)
  const { promise: others, resolve } = Promise.withResolvers<void>()
  let taken = 0
  let stuck: number | undefined
  const inStuck = () => entries.filter(({ key }) => partitionOf(key, 4) === stuck).length
  const following = await log.follow({
    group: 'one',
    from: async () => 0n,
    take: async (batch) => {
      stuck ??= batch[0]!.partition
      if (batch[0]!.partition === stuck) throw new Error('never')
      taken += batch.length
      if (taken === entries.length - inStuck()) resolve()
    },
  })
  stack.defer(() => following.stop())
  await others
  expect(taken).toBe(entries.length - inStuck())
})

async function segmentFixture(options: { segmentBytes?: number }) {
  const folder = await mkdtemp(join(tmpdir(), 'segment-log-'))
  const topics = topicsOf()
  return {
    topics,
    open: () => openSegmentLog({ folder, topics, partitions: 4, ...options }),
    drop: () => rm(folder, { recursive: true }),
  }
}
