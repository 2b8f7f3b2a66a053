import { spawn } from 'node:child_process'
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { expect, test } from 'vitest'
import { openSegmentLog } from '../../services/log/segment/segment.ts'

const KILLS = 32

test(`after ${KILLS} kills in the middle of appends, everything acknowledged is there, once`, async () => {
  const folder = await mkdtemp(join(tmpdir(), 'killed-log-'))
  const acknowledged = new Map<number, string>()
  let first = 0
  for (let kill = 0; kill < KILLS; kill++) {
    // After another number of acknowledgements each time, so that the blow falls anywhere.
    for (const [number, place] of await appendUntilKilled(folder, first, 1 + kill * 17))
      acknowledged.set(number, place)
    first += 1_000_000
  }
  const log = await openSegmentLog({ folder, topics: ['melt'], partitions: 2 })
  const held = new Map<string, string>()
  for (const { topic, partition, first, next } of await log.spans())
    for (let at = first; at < next; ) {
      const records = await log.read(topic, partition, at, 500)
      for (const { offset, value } of records)
        held.set(`${partition} ${offset}`, Buffer.from(value).toString())
      at += BigInt(records.length)
    }
  expect(acknowledged.size).toBeGreaterThan(KILLS * 17)
  const lost = [...acknowledged].filter(
    ([n, place]) => held.get(place) !== `${n} `.repeat(1 + (n % 40)),
  )
  expect(lost).toEqual([])
  const numbers = [...held.values()].map((value) => Number.parseInt(value, 10))
  expect(new Set(numbers).size).toBe(numbers.length)
  await log.close()
  await rm(folder, { recursive: true })
})

/** What the process had acknowledged when it was killed: number and place of each record. */
async function appendUntilKilled(
  folder: string,
  first: number,
  acknowledgements: number,
): Promise<Map<number, string>> {
  const script = join(import.meta.dirname, 'append-until-killed.ts')
  const child = spawn(process.execPath, [script, folder, String(first)], {
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  const acknowledged = new Map<number, string>()
  for await (const line of createInterface(child.stdout)) {
    const [number, partition, offset] = line.split(' ')
    acknowledged.set(Number(number), `${partition} ${offset}`)
    if (acknowledged.size === acknowledgements) child.kill('SIGKILL')
  }
  expect(
    child.signalCode ?? (await new Promise((done) => child.on('exit', (_, s) => done(s)))),
  ).toBe('SIGKILL')
  return acknowledged
}
