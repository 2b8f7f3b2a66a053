// Guards taken out of the program one at a time, and what has to notice. A guard whose absence nothing
// notices is either of no use or not tested.
import { readFileSync } from 'node:fs'
import { registerHooks } from 'node:module'
import { join } from 'node:path'

export interface Mutation {
  /** What is taken out, in words. */
  guard: string
  file: string
  /** Stands in the file exactly once. */
  with: string
  without: string
}

export interface TestedMutation extends Mutation {
  test: string
  /** Part of the name of the test; all of the file when absent. */
  named?: string
}

const ROOT = join(import.meta.dirname, '../..')
const WRITE = 'services/store/write.ts'
const FOLLOW = 'services/log/segment/follow.ts'
const PARTITION = 'services/log/segment/partition.ts'
const FORWARD = 'services/log/forward.ts'

/** Noticed by simulated shifts. */
export const SIMULATED: readonly Mutation[] = [
  {
    guard: 'the position is locked while a slice is written',
    file: WRITE,
    with: 'where topic = $1 and partition = $2 for update`',
    without: 'where topic = $1 and partition = $2`',
  },
  {
    guard: 'a slice that leaves out records is refused',
    file: WRITE,
    with: 'if (gap < 0) return\n',
    without: 'if (gap < 1e9) return\n',
  },
  {
    guard: 'rows and position come in one transaction',
    file: WRITE,
    with: 'await client.query(MOVE_POSITION,',
    without: 'void store.pool.query(MOVE_POSITION,',
  },
  {
    guard: 'what the database cannot hold is set aside',
    file: WRITE,
    with: 'return await writeNumbered(store, slice, numbers, insertByHalves)',
    without: 'throw error',
  },
  {
    guard: 'after a failure the reader is asked anew where it goes on',
    file: FOLLOW,
    with: `    hand.next = undefined
    if (isAlarm(error)) {`,
    without: '    if (isAlarm(error)) {',
  },
  {
    guard: 'idle partitions are asked for anew',
    file: FOLLOW,
    with: 'for (const hand of this.#held.values()) hand.next = undefined',
    without: '',
  },
  {
    guard: 'the record before the place of the reader is recognized',
    file: FOLLOW,
    with: 'if (from > partition.first && this.#reader.recognizes) {',
    without: 'if (from < 0n) {',
  },
  {
    guard: 'a reader ahead of the log is an alarm',
    file: FOLLOW,
    with: 'if (from < partition.first || from > partition.next)\n',
    without: 'if (from < partition.first)\n',
  },
  {
    guard: 'what is sent on is acknowledged before the cursor moves',
    file: FORWARD,
    with: 'if (batch.length > 0) await this.#inTime(target.append(named(topic), batch))',
    without: 'if (batch.length > 0) target.append(named(topic), batch).catch(() => undefined)',
  },
  {
    guard: 'the cursor goes on behind what was sent, not further',
    file: FORWARD,
    with: 'lane.next = last.offset + 1n',
    without: 'lane.next = last.offset + 2n',
  },
  {
    guard: 'a record is on the disk before it is acknowledged',
    file: PARTITION,
    with: `    await this.#file.datasync()
    segment.grow(`,
    without: '    segment.grow(',
  },
  {
    guard: 'a new file is in its folder for good before it is written to',
    file: PARTITION,
    with: `  await syncFolder(options.folder)
  return { segment, file }`,
    without: '  return { segment, file }',
  },
  {
    guard: 'a torn end is cut off',
    file: 'services/log/segment/segment-file.ts',
    with: 'if (this.bytes < size) return this.#cut(file, size)',
    without: 'if (this.bytes < size) this.bytes = size',
  },
  {
    guard: 'a frame is read by its checksum',
    file: 'services/log/segment/frame.ts',
    with: '  if (crc32(bytes.subarray(at + CHECKED_FROM, end)) !== bytes.readUInt32LE(at + 4)) return',
    without: '  if (bytes.length < 0) return',
  },
  {
    guard: 'a repeat is answered no sooner than what it repeats',
    file: 'services/stations/door.ts',
    with: '...(after && { after })',
    without: '',
  },
]

/** Noticed by a test of the suite. */
export const TESTED: readonly TestedMutation[] = [
  {
    guard: 'what stands before the position is dropped',
    file: WRITE,
    with: 'slice.records.filter(({ offset }) => offset >= next)',
    without: 'slice.records.slice()',
    test: 'test/store/write.int.test.ts',
    named: 'changes nothing when a batch is delivered again',
  },
  {
    guard: 'what was not promised is cut off after a failed write',
    file: PARTITION,
    with: 'await this.#file.truncate(segment.bytes).catch(() => undefined)',
    without: '',
    test: 'test/log/damage.int.test.ts',
  },
  {
    guard: 'one key counts once, however often it stands in the log',
    file: 'services/events/timeline.ts',
    with: 'const kept = this.#groups.bearerOf(claim)\n',
    without: "const kept = undefined as ReturnType<Groups<C>['bearerOf']>\n",
    test: 'test/events/timeline.test.ts',
  },
  {
    guard: 'on brokers a reader ahead of the log is an alarm',
    file: 'services/log/kafka/claim.ts',
    with: 'if (span && from >= span.first && from <= span.next) return span',
    without: 'if (span) return span',
    test: 'test/log/kafka-faults.int.test.ts',
    named: 'shorter',
  },
  {
    guard: 'on brokers the record before the place of the reader is recognized',
    file: 'services/log/kafka/hand.ts',
    with: 'held.unproved = from > first && reader.recognizes !== undefined',
    without: 'held.unproved = false',
    test: 'test/log/kafka-faults.int.test.ts',
    named: 'longer',
  },
  {
    guard: 'a client that has lost its place is stopped',
    file: 'services/log/kafka/consumer.ts',
    with: "if (payload.apiName === 'OffsetCommit') wentAstray()",
    without: '',
    test: 'test/log/kafka-faults.int.test.ts',
    named: 'that it was about to read',
  },
  {
    guard: 'a database is followed with the brokers it was made from',
    file: 'services/genealogy/shared-reader.ts',
    with: 'if (followed !== undefined && followed !== cluster)',
    without: 'if (followed === "")',
    test: 'test/log/kafka-faults.int.test.ts',
    named: 'does not begin on other brokers',
  },
  {
    guard: 'topics whose settings would lose records are not opened',
    file: 'services/log/kafka/kafka.ts',
    with: 'await assertSettings(client, shapes).catch(',
    without: 'await Promise.resolve().catch(',
    test: 'test/log/kafka.int.test.ts',
    named: 'a setting that would lose records',
  },
]

/** The file as it is without the guard. Throws when the guard does not stand there as it is known. */
export function mutated({ guard, file, with: found, without }: Mutation): string {
  const text = readFileSync(join(ROOT, file), 'utf8')
  const parts = text.split(found)
  if (parts.length !== 2)
    throw new Error(`${file} has ${parts.length - 1} places that say "${guard}": look it over.`)
  return parts.join(without)
}

/** From now on the file is loaded without the guard. */
export function takeOut(mutation: Mutation): void {
  const text = mutated(mutation)
  const url = new URL(mutation.file, `file://${ROOT}/`).href
  registerHooks({
    load(asked, context, next) {
      if (asked !== url) return next(asked, context)
      return { format: 'module-typescript', source: text, shortCircuit: true }
    },
  })
}
