// A process that appends without end and says on its output what was acknowledged: the other half of
// the kill test. Arguments: folder, first number.
import { writeSync } from 'node:fs'
import { openSegmentLog } from '../../services/log/segment/segment.ts'

const [folder, first] = process.argv.slice(2)
const log = await openSegmentLog({
  folder: folder!,
  topics: ['melt'],
  partitions: 2,
  segmentBytes: 20_000,
})
let number = Number(first)

async function appendForever(): Promise<never> {
  for (;;) {
    const numbers = Array.from({ length: 1 + (number % 7) }, () => number++)
    const places = await log.append(
      'melt',
      numbers.map((n) => ({
        key: `machine-${n % 5}`,
        value: Buffer.from(`${n} `.repeat(1 + (n % 40))),
      })),
    )
    for (const [i, { partition, offset }] of places.entries())
      writeSync(1, `${numbers[i]} ${partition} ${offset}\n`)
  }
}

await Promise.all([appendForever(), appendForever(), appendForever()])
