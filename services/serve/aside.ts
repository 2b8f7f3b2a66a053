// npm run aside -- list [--class SCHEMA] [--topic melt] [--all]    what was set aside, newest first
// npm run aside -- show melt/0/123                                  one of them, with its reasons and bytes
// npm run aside -- replay melt/0/123 --by NAME                      once more, after the program was put right
// npm run aside -- replay melt/0/123 --by NAME --edited FILE        as put right in a file, - for what is piped in
import { readFile } from 'node:fs/promises'
import { text } from 'node:stream/consumers'
import { parseArgs } from 'node:util'
import { problemSentence } from '../events/problem.ts'
import { stationOf } from '../genealogy/reading.ts'
import type { Log } from '../log/log.ts'
import { lockFolder } from '../log/segment/folder-lock.ts'
import { openSegmentLog } from '../log/segment/segment.ts'
import { topicsOf } from '../log/topics.ts'
import { type Settings, settings } from '../settings.ts'
import { type Replayed, replayed, type SetAside } from '../stations/replay.ts'
import { connect, type Store } from '../store/connect.ts'
import type { Place } from '../store/kept-record.ts'
import { recordPlace } from '../store/place.ts'
import { type AsideLine, readAsideLines, readReplay } from '../store/read-aside.ts'
import { readSetAsideAt } from '../store/read-reports.ts'

const MOST = 1_000
const USAGE = `Say what to do:
  npm run aside -- list [--class CLASS] [--topic TOPIC] [--all]
  npm run aside -- show PLACE
  npm run aside -- replay PLACE --by NAME [--edited FILE]
A PLACE is as the list has it, such as melt/0/123.`

export interface AsideCommand {
  settings: Settings
  /** As on the command line. */
  words: readonly string[]
  /** Opened already by whoever has them open; else from the settings. */
  store?: Store
  log?: Log
  now(): number
  say(line: string): void
}

/** Answers the exit code. Throws one sentence when it cannot be done. */
export async function runAside(command: AsideCommand): Promise<number> {
  const { values, positionals } = parseArgs({
    args: [...command.words],
    allowPositionals: true,
    options: {
      class: { type: 'string' },
      topic: { type: 'string' },
      all: { type: 'boolean', default: false },
      by: { type: 'string' },
      edited: { type: 'string' },
    },
  })
  const [verb, place, ...more] = positionals
  const known = verb === 'list' ? place === undefined : verb === 'show' || verb === 'replay'
  if (!known || more.length > 0 || (verb !== 'list' && place === undefined)) throw new Error(USAGE)
  await using open = new AsyncDisposableStack()
  const store = command.store ?? (await openStore(command.settings, verb === 'replay', open))
  if (verb === 'list') return list(command, store, values)
  const found = await readSetAsideAt(store, placeFrom(place!))
  if (!found) throw new Error(`Nothing was set aside at ${place}.`)
  if (verb === 'show') return show(command, found)
  if (values.by === undefined) throw new Error('Say who replays it: --by NAME')
  const station = stationOf(found.topic, command.settings.kafka?.topicPrefix)
  const edited = values.edited === undefined ? undefined : await readEdited(values.edited)
  return replay(command, store, { ...found, station }, { by: values.by, edited, open })
}

async function list(
  { say }: AsideCommand,
  store: Store,
  narrow: { class?: string; topic?: string; all: boolean },
): Promise<number> {
  const lines = await readAsideLines(store.pool, { ...narrow, open: !narrow.all, most: MOST })
  for (const line of lines) say(lineOf(line))
  const more = lines.length === MOST ? ` These are the newest ${MOST}.` : ''
  const which = narrow.all ? 'set aside' : 'set aside and not replayed'
  say(`${lines.length} ${which}.${more}`)
  return 0
}

function lineOf(line: AsideLine): string {
  const when = new Date(line.recorded).toISOString()
  const who = [line.source, line.type].filter((part) => part !== null).join(' ')
  const replays = line.replayedBy === null ? '' : ` Replayed by ${line.replayedBy}.`
  return printable(`${placeText(line)}  ${line.class}  ${when}  ${who}  ${line.reason}${replays}`)
}

interface Found extends Place {
  class: string
  reason: string
  problems: unknown
  bytes: Uint8Array
}

function show({ say }: AsideCommand, found: Found): number {
  say(`${placeText(found)}  ${found.class}  ${printable(found.reason)}`)
  for (const problem of found.problems as Parameters<typeof problemSentence>[0][])
    say(`  ${printable(problemSentence(problem))}`)
  say('')
  say(printable(indented(Buffer.from(found.bytes).toString())))
  return 0
}

function indented(bytes: string): string {
  try {
    return JSON.stringify(JSON.parse(bytes), undefined, 2)
  } catch {
    return bytes
  }
}

async function replay(
  command: AsideCommand,
  store: Store,
  aside: SetAside,
  how: { by: string; edited: Uint8Array | undefined; open: AsyncDisposableStack },
): Promise<number> {
  const { say, settings, now } = command
  const { by, edited, open } = how
  const place = placeText(aside)
  const before = await readReplay(store.pool, aside)
  if (before !== undefined) throw new Error(`${place} was replayed by ${before.by} already.`)
  const result = replayed(aside, { by, now: now(), ...(edited && { edited }) })
  if (!result.ok) {
    say(`${place} still cannot be read: ${printable(result.reason)}`)
    say('Put it right and replay it with --edited FILE.')
    return 1
  }
  const log = command.log ?? (await openLog(settings, result, open))
  const topic = (settings.kafka?.topicPrefix ?? '') + result.station
  const [at] = await log.append(topic, [result.entry])
  say(`${place} stands in the log again at ${placeText(at!)}, replayed by ${by}.`)
  if (topic !== aside.topic)
    say(`${place} itself stays on the list: what ${result.station} says settles nothing of others.`)
  return 0
}

/** Whoever holds the data folder already is named in the error. */
async function openStore(
  settings: Settings,
  replays: boolean,
  open: AsyncDisposableStack,
): Promise<Store> {
  const { databaseUrl, folder, kafka } = settings
  if (!databaseUrl || (replays && !kafka)) {
    const lock = await lockFolder(folder)
    open.defer(() => lock.release())
  }
  const store = await connect(recordPlace(settings))
  open.defer(() => store.close())
  return store
}

async function openLog(
  { kafka, logFolder, partitions }: Settings,
  { station }: Replayed,
  open: AsyncDisposableStack,
): Promise<Log> {
  const opening = async (): Promise<Log> => {
    if (!kafka) return openSegmentLog({ folder: logFolder, topics: topicsOf(), partitions })
    const { openKafkaLog } = await import('../log/kafka/kafka.ts')
    const { topicPrefix, ...place } = kafka
    return openKafkaLog({ ...place, topics: [topicPrefix + station] })
  }
  const log = await opening()
  open.defer(() => log.close())
  return log
}

async function readEdited(file: string): Promise<Uint8Array> {
  return file === '-' ? Buffer.from(await text(process.stdin)) : readFile(file)
}

function placeFrom(text: string): Place {
  const [, topic, partition, offset] = /^([\w.-]+)\/(\d{1,9})\/(\d{1,18})$/.exec(text) ?? []
  if (!topic || !partition || !offset)
    throw new Error(`${text} is no place. Give it as the list does, such as melt/0/123.`)
  return { topic, partition: Number(partition), offset: BigInt(offset) }
}

function placeText({ topic, partition, offset }: Place): string {
  return `${topic}/${partition}/${offset}`
}

/** What was set aside may hold anything; a terminal would obey some of it. */
function printable(said: string): string {
  return said.replace(/[^\P{Cc}\n]|[\p{Cf}\u2028\u2029]/gu, '\ufffd')
}

if (import.meta.main) {
  try {
    const words = process.argv.slice(2)
    process.exitCode = await runAside({ settings, words, now: Date.now, say: console.log })
  } catch (error) {
    console.error(error instanceof Error ? error.message : error)
    process.exitCode = 2
  }
}
