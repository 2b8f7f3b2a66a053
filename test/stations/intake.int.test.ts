import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { createWriteStream } from 'node:fs'
import { mkdir, readdir, stat, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { text } from 'node:stream/consumers'
import { setTimeout as pause } from 'node:timers/promises'
import { beforeEach, describe, expect, onTestFinished, test } from 'vitest'
import { lockFolder } from '../../services/log/segment/folder-lock.ts'
import { signedIn } from '../serve/processes.ts'
import { eventsIn, newFolder, openLog } from './folders.ts'
import { BAD_EVENTS, tap, tapData } from './said.ts'

const INTAKE = join(import.meta.dirname, '../../services/stations/intake.ts')
const HOUSE = join(import.meta.dirname, 'house-on-port.ts')

let folder: string
let data: string

beforeEach(async () => {
  folder = await newFolder()
  data = join(folder, 'data')
})

function start(script: string, words: string[], nodeWords: string[] = []): ChildProcess {
  const child = spawn(process.execPath, [...nodeWords, script, ...words], {
    env: { ...process.env, HEAT_TO_PAN_DATA: data },
    stdio: ['pipe', 'pipe', 'pipe'],
  })
  // Killed while it is written to, it closes the pipe.
  child.stdin!.on('error', () => undefined)
  onTestFinished(() => void child.kill('SIGKILL'))
  return child
}

interface Ended {
  code: number | null
  signal: string | null
  out: string
  err: string
}

async function ended(child: ChildProcess): Promise<Ended> {
  const [out, err, [code, signal]] = await Promise.all([
    text(child.stdout!),
    text(child.stderr!),
    once(child, 'exit'),
  ])
  return { code, signal, out, err }
}

async function intake(file: string, input = ''): Promise<Ended> {
  const child = start(INTAKE, [file])
  child.stdin!.end(input)
  return ended(child)
}

async function fileOf(lines: readonly string[]): Promise<string> {
  const path = join(folder, 'events.ndjson')
  await writeFile(path, lines.join('\n'))
  return path
}

async function house(): Promise<{ child: ChildProcess; address: string }> {
  const child = start(HOUSE, [data])
  const [address] = await once(createInterface(child.stdout!), 'line')
  return { child, address }
}

async function idsInLog(): Promise<string[]> {
  const log = await openLog(data)
  const ids = (await eventsIn(log)).map(({ id }) => id)
  await log.close()
  return ids.sort()
}

const taps = (count: number) => Array.from({ length: count }, (_, i) => JSON.stringify(tap(i)))

describe('a file of events', () => {
  test('goes in, and a second time everything is a duplicate', async () => {
    const file = await fileOf(taps(1_300))
    expect(await intake(file)).toMatchObject({
      code: 0,
      err: '',
      out: `${file}: 1,300 accepted, 0 duplicate, 0 refused.\n`,
    })
    expect(await intake(file)).toMatchObject({
      code: 0,
      out: `${file}: 0 accepted, 1,300 duplicate, 0 refused.\n`,
    })
    expect(await idsInLog()).toHaveLength(1_300)
  })

  test('what is piped in goes the same way', async () => {
    expect(await intake('-', taps(3).join('\r\n') + '\r\n')).toMatchObject({
      code: 0,
      out: 'The input: 3 accepted, 0 duplicate, 0 refused.\n',
    })
  })

  test('every kind of bad line is named with its number, its field and the fix; the good ones go in', async () => {
    const bad = BAD_EVENTS.flatMap(({ text }, i) => [text, JSON.stringify(tap(100 + i))])
    const file = await fileOf(bad)
    const { code, out } = await intake(file)
    expect(code).toBe(1)
    const said = out.split('\n')
    for (const [i, { sentence }] of BAD_EVENTS.entries()) {
      const line = said.find((each) => each.startsWith(`line ${2 * i + 1}: `))
      expect(line).toMatch(sentence)
    }
    const count = BAD_EVENTS.length
    expect(out).toContain(`${count} accepted, 0 duplicate, ${count} refused.`)
    expect(await idsInLog()).toEqual(BAD_EVENTS.map((_, i) => `tap-${100 + i}`).sort())
  })

  test('an id used again with other content goes in and is named', async () => {
    const other = JSON.stringify(tap(1, { data: tapData(1, { kg: 4 }) }))
    const file = await fileOf([...taps(3), other])
    expect(await intake(file)).toMatchObject({
      code: 0,
      out: `line 4: taken in, but id-reused\n${file}: 4 accepted, 0 duplicate, 0 refused.\nFlagged as unusual: 1.\n`,
    })
  })

  test('an empty file, and one of empty lines, is said to be empty', async () => {
    for (const lines of [[], ['', '  ', '\t', '']]) {
      const file = await fileOf(lines)
      expect(await intake(file)).toMatchObject({
        code: 0,
        out: `${file} is empty: there was nothing to take in.\n`,
      })
    }
  })

  test('a binary file is refused line by line without harm to what stands beside it', async () => {
    const noise = Buffer.from(Array.from({ length: 40_000 }, (_, i) => (i * i * 31 + i * 7) % 256))
    const path = join(folder, 'events.bin')
    await writeFile(path, Buffer.concat([noise, Buffer.from('\n' + taps(2).join('\n'))]))
    const { code, out } = await intake(path)
    expect(code).toBe(1)
    expect(out).toMatch(/2 accepted, 0 duplicate, \d+ refused/)
    // biome-ignore lint/suspicious/noControlCharactersInRegex: none of them may reach the terminal
    expect(out).not.toMatch(/[\x00-\x09\x0b-\x1f\x7f]/)
  })

  test('a line of 10 MB is refused by its length, and a gigabyte without a newline fits in little memory', async () => {
    const lines = [JSON.stringify(tap(1)), 'x'.repeat(10_000_000), JSON.stringify(tap(2))]
    const { code, out } = await intake(await fileOf(lines))
    expect(code).toBe(1)
    expect(out).toContain(
      'line 2: event is 10000000 bytes long. Send at most 65536 bytes an event.',
    )
    expect(out).toContain('2 accepted, 0 duplicate, 1 refused.')

    // With 64 MB of heap it must pass them over, not gather them.
    const child = start(INTAKE, ['-'], ['--max-old-space-size=64'])
    const ending = ended(child)
    const block = Buffer.alloc(4 * 1024 * 1024, 'x')
    for (let i = 0; i < 256; i++) if (!child.stdin!.write(block)) await once(child.stdin!, 'drain')
    child.stdin!.end('\n' + JSON.stringify(tap(3)))
    expect(await ending).toMatchObject({
      code: 1,
      out: expect.stringContaining('1 accepted, 0 duplicate, 1 refused.'),
    })
  })
})

describe('what cannot be begun', () => {
  test('a file that is not there, or is a folder, or none at all, is said in one sentence', async () => {
    expect(await intake(join(folder, 'none.ndjson'))).toMatchObject({
      code: 2,
      out: '',
      err: `There is no file ${join(folder, 'none.ndjson')}.\n`,
    })
    expect(await intake(folder)).toMatchObject({
      code: 2,
      err: expect.stringContaining('is a folder'),
    })
    const child = start(INTAKE, [])
    expect(await ended(child)).toMatchObject({
      code: 2,
      err: expect.stringContaining('Give one file'),
    })
    await expect(stat(data)).rejects.toThrow()
  })

  test('a folder that another process holds is left alone, and that process is named', async () => {
    const lock = await lockFolder(data)
    const file = await fileOf(taps(1))
    expect(await intake(file)).toMatchObject({
      code: 2,
      out: '',
      err: `The folder ${data} is in use by process ${process.pid}. Stop that one first, or name another folder.\n`,
    })
    await lock.release()
    expect(await readdir(data)).toEqual([])
  })

  test('a damaged log is an alarm, and nothing is taken in over it', async () => {
    const file = await fileOf(taps(50))
    await intake(file)
    const [segment] = await segments(data)
    const damaged = createWriteStream(segment!, { flags: 'r+', start: 40 })
    damaged.end('#')
    await once(damaged, 'close')
    const again = await intake(file)
    expect(again).toMatchObject({ code: 2, err: expect.stringContaining('is damaged at byte 0') })
  })
})

describe('while the house runs', () => {
  test('the file goes through its door', async () => {
    const { child, address } = await house()
    const file = await fileOf([...taps(1_200), '{"broken'])
    const first = await intake(file)
    expect(first.code).toBe(1)
    expect(first.out).toMatch(/^line 1201: event cannot be read/)
    expect(first.out).toContain('1,200 accepted, 0 duplicate, 1 refused.')
    const answer = await fetch(`${address}/events`, {
      method: 'POST',
      headers: {
        'content-type': 'application/cloudevents+json',
        ...(await signedIn(data, 'station')),
      },
      body: taps(1)[0]!,
    })
    expect(answer.status).toBe(200)
    child.kill('SIGKILL')
    await once(child, 'exit')
    expect(await idsInLog()).toHaveLength(1_200)
  })

  test('what a house had acknowledged before kill -9 is there afterwards', async () => {
    const acknowledged: string[] = []
    for (let kill = 0; kill < 5; kill++) {
      const { child, address } = await house()
      const sending = Promise.allSettled(
        Array.from({ length: 6 }, async (_, lane) => {
          for (let n = 0; ; n++) {
            const event = tap(n * 3 + lane, { id: `${kill}-${lane}-${n}` })
            const response = await fetch(`${address}/events`, {
              method: 'POST',
              headers: {
                'content-type': 'application/cloudevents+json',
                ...(await signedIn(data, 'station')),
              },
              body: JSON.stringify(event),
            })
            if (response.status !== 202) throw new Error(await response.text())
            if (acknowledged.push(event.id as string) % 60 === 0) child.kill('SIGKILL')
          }
        }),
      )
      await once(child, 'exit')
      await sending
    }
    const ids = new Set(await idsInLog())
    expect(acknowledged.length).toBeGreaterThanOrEqual(300)
    expect(acknowledged.filter((id) => !ids.has(id))).toEqual([])
  })
})

describe('stopped in the middle', () => {
  test('Ctrl-C says how far it came, and a second run takes the rest', async () => {
    const child = start(INTAKE, ['-'])
    const ending = ended(child)
    const lines = taps(3_000)
    child.stdin!.write(lines.slice(0, 2_000).join('\n') + '\n')
    // Begun when the folder is made: it waits for more, and that is when it is stopped.
    await until(async () => (await sizeOf(data)) > 0)
    child.kill('SIGINT')
    const { code, err } = await ending
    expect(code).toBe(130)
    expect(err).toMatch(
      /^Stopped\. (Up to line [\d]+: [\d,]+ accepted, .*)?Run it again for the rest/,
    )
    const before = (await idsInLog()).length
    expect(err.includes('Up to line') ? before : 0).toBe(before)
    const again = await intake(await fileOf(lines))
    expect(again.out).toContain(
      `${(3_000 - before).toLocaleString('en')} accepted, ${before.toLocaleString('en')} duplicate, 0 refused.`,
    )
    expect(await idsInLog()).toHaveLength(3_000)
  })

  test('kill -9 at any moment loses nothing: run again, every line is in the log once', async () => {
    const lines = taps(8_000)
    const file = await fileOf(lines)
    let before = 0
    for (const part of [0.05, 0.3, 0.6, 0.9]) {
      const child = start(INTAKE, [file])
      const exit = once(child, 'exit')
      const wanted = part * 8_000 * 400
      await Promise.race([until(async () => (await sizeOf(data)) > wanted), exit])
      child.kill('SIGKILL')
      await exit
      const ids = await idsInLog()
      expect(ids.length).toBeGreaterThanOrEqual(before)
      expect(new Set(ids).size).toBe(ids.length)
      before = ids.length
    }
    expect(before).toBeGreaterThan(0)
    const { code, out } = await intake(file)
    expect(code).toBe(0)
    expect(out).toContain(
      `${(8_000 - before).toLocaleString('en')} accepted, ${before.toLocaleString('en')} duplicate, 0 refused.`,
    )
    expect(await idsInLog()).toHaveLength(8_000)
  })
})

/** Bytes in all files of the log. */
async function sizeOf(path: string): Promise<number> {
  let size = 0
  for (const file of await segments(path))
    size += (await stat(file).catch(() => ({ size: 0 }))).size
  return size
}

/** The files of the log that hold anything. */
async function segments(path: string): Promise<string[]> {
  await mkdir(path, { recursive: true })
  const files = (await readdir(path, { recursive: true, withFileTypes: true }))
    .filter((each) => each.isFile() && each.name.endsWith('.log'))
    .map((each) => join(each.parentPath, each.name))
  const sizes = await Promise.all(files.map((file) => stat(file)))
  return files.filter((_, i) => sizes[i]!.size > 0)
}

async function until(fits: () => Promise<boolean>): Promise<void> {
  while (!(await fits())) await pause(5)
}
