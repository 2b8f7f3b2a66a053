// A door's disk and what sends it on, in a process that somebody kills: appends without end, forwards to
// a second log, and says on its output what was acknowledged. Arguments: spool, other log, first number.
import { writeSync } from 'node:fs'
import { forward } from '../../services/log/forward.ts'
import { openSegmentLog } from '../../services/log/segment/segment.ts'

const [folder, other, first] = process.argv.slice(2)
const topics = ['melt', 'pour']
const spool = await openSegmentLog({ folder: folder!, topics, partitions: 2, segmentBytes: 50_000 })
await forward({
  spool,
  folder: folder!,
  open: () => openSegmentLog({ folder: other!, topics, partitions: 3 }),
  tell: () => undefined,
})
let number = Number(first)

async function appendForever(topic: string): Promise<never> {
  for (;;) {
    const numbers = Array.from({ length: 1 + (number % 7) }, () => number++)
    await spool.append(
      topic,
      numbers.map((n) => ({ key: `machine-${n % 5}`, value: Buffer.from(`${n}`) })),
    )
    writeSync(1, numbers.map((n) => `${topic} ${n}\n`).join(''))
  }
}

await Promise.all([appendForever('melt'), appendForever('pour'), appendForever('melt')])
