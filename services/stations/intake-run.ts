// Takes a file of events in, line by line: good lines go in whatever the bad ones are, and every bad
// one is named with its line, its field and the fix.
import { open } from 'node:fs/promises'
import { addAbortSignal, type Readable } from 'node:stream'
import { EVENT_BYTES } from '../events/envelope.ts'
import type { Settings } from '../settings.ts'
import type { Receipt } from './door.ts'
import { type Line, linesOf } from './lines.ts'
import { openRoad, type Road } from './road.ts'
import type { Tally } from './tally.ts'

export interface IntakeOrder {
  /** A path, or - for what is piped in. */
  file: string
  settings: Settings
  input: Readable
  /** The result. */
  say(line: string): void
  /** Why it could not go on. */
  complain(line: string): void
  tally: Tally
  /** Stops between two batches. */
  signal: AbortSignal
}

const BATCH_LINES = 500
const BATCH_BYTES = 4 * 1024 * 1024
const READ_BYTES = 256 * 1024

/**
 * Answers the exit code: 0 when everything went in, 1 when lines were refused, 2 when it could not
 * begin or not be finished, 130 when it was stopped.
 */
export async function runIntake(order: IntakeOrder): Promise<number> {
  const { say, complain, tally, settings, signal } = order
  let road: Road | undefined
  let stream: Readable | undefined
  try {
    stream = await openInput(order)
    road = await openRoad(settings)
    tally.begin(road)
    await takeAll(road, addAbortSignal(signal, stream), order)
  } catch (error) {
    if (!signal.aborted) {
      tally.end()
      complain(`${tally.progress()}${sentenceOf(error, order.file)}`)
      return 2
    }
  } finally {
    stream?.destroy()
    await road?.close()
  }
  tally.end()
  if (signal.aborted) {
    complain(
      `Stopped. ${tally.progress()}Run it again for the rest: what is in already counts once.`,
    )
    return 130
  }
  for (const line of tally.summary(order.file)) say(line)
  return tally.refused > 0 ? 1 : 0
}

async function openInput({ file, input }: IntakeOrder): Promise<Readable> {
  if (file === '-') return input
  const handle = await open(file)
  if (!(await handle.stat()).isDirectory())
    return handle.createReadStream({ highWaterMark: READ_BYTES })
  await handle.close()
  throw new Error(`${file} is a folder. Give a file with one event on each line.`)
}

async function takeAll(
  road: Road,
  stream: AsyncIterable<Buffer>,
  { tally, signal }: IntakeOrder,
): Promise<void> {
  let batch: Line[] = []
  let bytes = 0
  for await (const lines of linesOf(stream, EVENT_BYTES))
    for (const line of lines) {
      batch.push(line)
      bytes += line.bytes?.length ?? 0
      if (batch.length < BATCH_LINES && bytes < BATCH_BYTES) continue
      await takeBatch(road, batch, tally)
      signal.throwIfAborted()
      batch = []
      bytes = 0
    }
  await takeBatch(road, batch, tally)
}

async function takeBatch(road: Road, batch: readonly Line[], tally: Tally): Promise<void> {
  const sent = batch.flatMap(({ bytes }) => bytes ?? [])
  const receipts = sent.length > 0 ? await road.take(sent) : []
  let next = 0
  for (const line of batch) tally.add(line, line.bytes ? receipts[next++]! : tooLong(line))
}

function tooLong({ length }: Line): Receipt {
  const sentence = `event is ${length} bytes long. Send at most ${EVENT_BYTES} bytes an event.`
  return {
    outcome: 'refused',
    class: 'OVERSIZE',
    problems: [{ field: 'event', sentence }],
    flags: [],
  }
}

function sentenceOf(error: unknown, file: string): string {
  const { code, message, cause } = error as NodeJS.ErrnoException
  if (code === 'ENOENT') return `There is no file ${file}.`
  if (code === 'EACCES') return `${file} may not be read.`
  // What fetch throws says nothing by itself.
  if (cause instanceof Error) return `The house does not answer: ${cause.message}.`
  return message
}
