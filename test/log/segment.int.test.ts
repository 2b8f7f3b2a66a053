import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { openSegmentLog } from '../../services/log/segment.ts'
import { topicsOf } from '../../services/log/topics.ts'
import { logContract } from '../contract/log-contract.ts'

logContract('the segment log', () => segmentFixture({}))
// So small that every few records begin a new file, and reads go over many.
logContract('the segment log with small files', () => segmentFixture({ segmentBytes: 300 }))

async function segmentFixture(options: { segmentBytes?: number }) {
  const folder = await mkdtemp(join(tmpdir(), 'segment-log-'))
  const topics = topicsOf()
  return {
    topics,
    open: () => openSegmentLog({ folder, topics, partitions: 4, ...options }),
    drop: () => rm(folder, { recursive: true }),
  }
}
