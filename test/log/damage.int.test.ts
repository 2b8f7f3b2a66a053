import { constants } from 'node:fs'
import type { FileHandle } from 'node:fs/promises'
import {
  access,
  copyFile,
  cp,
  mkdtemp,
  open,
  readdir,
  readFile,
  rm,
  truncate,
  writeFile,
} from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, test } from 'vitest'
import type { Entry, Log, LogRecord } from '../../services/log/log.ts'
import { encodeFrames } from '../../services/log/segment/frame.ts'
import type { SegmentLogOptions } from '../../services/log/segment/segment.ts'
import { openSegmentLog, partitionOf } from '../../services/log/segment/segment.ts'
import type { OpenFile } from '../../services/log/segment/segment-file.ts'

let folder: string
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'damaged-log-'))
})
afterEach(() => rm(folder, { recursive: true }))

const opened = (options: Partial<SegmentLogOptions> = {}) =>
  openSegmentLog({ folder: join(folder, 'log'), topics: ['melt'], partitions: 1, ...options })
const file = () => join(folder, 'log', 'melt', '0', '0'.repeat(20) + '.log')
const entry = (value: string): Entry => ({ key: 'furnace-1', value: Buffer.from(value) })
const values = (records: LogRecord[]) => records.map(({ value }) => Buffer.from(value).toString())
const read = (log: Log, from = 0n) => log.read('melt', 0, from, 1000)

const ends = () => join(folder, 'log', 'ends.json')

/** As a crash leaves it: nobody noted where it ended. */
async function crashed(log: Log): Promise<void> {
  await log.close()
  await rm(ends())
}

async function appendEach(log: Log, said: string[]): Promise<void> {
  for (const each of said) await log.append('melt', [entry(each)])
}

test('an end torn at any byte of the last record is cut off, reported and kept', async () => {
  const log = await opened()
  await appendEach(log, ['one', 'two'])
  const whole = (await readFile(file())).length
  await appendEach(log, ['the record the crash tore'])
  const full = (await readFile(file())).length
  await crashed(log)
  await cp(join(folder, 'log'), join(folder, 'whole'), { recursive: true })

  for (let size = whole; size < full; size++) {
    await copyFile(join(folder, 'whole', 'melt', '0', '0'.repeat(20) + '.log'), file())
    await truncate(file(), size)
    await rm(file() + '.torn', { force: true })
    const torn = await opened()
    expect(values(await read(torn))).toEqual(['one', 'two'])
    if (size === whole) expect(torn.torn).toEqual([])
    else {
      expect(torn.torn).toEqual([
        { path: file(), at: whole, bytes: size - whole, keptIn: file() + '.torn' },
      ])
      expect((await readFile(file() + '.torn')).length).toBe(size - whole)
    }
    const [place] = await torn.append('melt', [entry('after')])
    expect(place!.offset).toBe(2n)
    await crashed(torn)
    const again = await opened()
    expect(again.torn).toEqual([])
    expect(values(await read(again))).toEqual(['one', 'two', 'after'])
    await crashed(again)
  }
})

test('after a crash, a last record with any one byte changed is cut off and never read', async () => {
  const log = await opened()
  await appendEach(log, ['one', 'two'])
  await crashed(log)
  const bytes = await readFile(file())
  const second = bytes.length / 2
  for (let at = second; at < bytes.length; at++) {
    const changed = Buffer.from(bytes)
    changed[at]! ^= 0x10
    await writeFile(file(), changed)
    const torn = await opened()
    expect(values(await read(torn))).toEqual(['one'])
    expect(torn.torn).toHaveLength(1)
    await crashed(torn)
  }
})

test('after a crash, any one byte changed before the last record is an alarm with file and place, and nothing is cut', async () => {
  const log = await opened()
  await appendEach(log, ['one', 'two', 'six'])
  await crashed(log)
  const bytes = await readFile(file())
  const frame = bytes.length / 3
  for (let at = 0; at < 2 * frame; at++) {
    const changed = Buffer.from(bytes)
    changed[at]! ^= 0x10
    await writeFile(file(), changed)
    const start = at < frame ? 0 : frame
    await expect(opened()).rejects.toMatchObject({
      code: 'LOG_CORRUPT',
      message: expect.stringContaining(`${file()} is damaged at byte ${start},`),
    })
    expect(await readFile(file())).toEqual(changed)
  }
})

test('after an orderly end, any one byte changed or cut is an alarm, and stays one', async () => {
  const log = await opened()
  await log.append('melt', ['one', 'two', 'six'].map(entry))
  await log.close()
  const bytes = await readFile(file())
  const alarm = { code: 'LOG_CORRUPT', message: expect.stringContaining(file()) }
  for (let at = 0; at < bytes.length; at++) {
    const changed = Buffer.from(bytes)
    changed[at]! ^= 0x10
    await writeFile(file(), changed)
    await expect(opened()).rejects.toMatchObject(alarm)
    await expect(opened()).rejects.toMatchObject(alarm)
    await writeFile(file(), bytes.subarray(0, at))
    await expect(opened()).rejects.toMatchObject(alarm)
  }
  await rm(file())
  await expect(opened()).rejects.toMatchObject({ code: 'LOG_CORRUPT' })
  await writeFile(file(), bytes)
  expect(values(await readWith({}))).toEqual(['one', 'two', 'six'])
})

test('a hole in one group of which nothing was promised is a torn end, not an alarm', async () => {
  const log = await opened()
  await appendEach(log, ['promised'])
  await crashed(log)
  const promised = await readFile(file())
  const group = encodeFrames([entry('first'), entry('second')], promised.length)
  // A power cut may keep the later page of a write and lose the earlier one.
  await writeFile(file(), Buffer.concat([promised, Buffer.alloc(40), group.subarray(40)]))
  const torn = await opened()
  expect(values(await read(torn))).toEqual(['promised'])
  expect(torn.torn).toMatchObject([{ at: promised.length, bytes: group.length }])
  await torn.close()
})

test('a torn record whose content looks like a record is still a torn end', async () => {
  const log = await opened()
  await appendEach(log, ['promised'])
  const value = Buffer.concat([encodeFrames([entry('not a record')], 0), Buffer.alloc(100)])
  await log.append('melt', [{ key: 'furnace-1', value }])
  await crashed(log)
  await truncate(file(), (await readFile(file())).length - 1)
  const torn = await opened()
  expect(values(await read(torn))).toEqual(['promised'])
  await torn.close()
})

test('damage in a finished file is an alarm to every reader each time, and never passed over', async () => {
  const log = await opened({ segmentBytes: 100 })
  await appendEach(
    log,
    Array.from({ length: 20 }, (_, i) => `record number ${i}`),
  )
  await log.close()
  const bytes = await readFile(file())
  bytes[bytes.length - 1]! ^= 1
  await writeFile(file(), bytes)

  const damaged = await opened({ segmentBytes: 100 })
  const alarm = { code: 'LOG_CORRUPT', message: expect.stringContaining(file()) }
  await expect(read(damaged)).rejects.toMatchObject(alarm)
  await expect(read(damaged)).rejects.toMatchObject(alarm)
  const taken: LogRecord[] = []
  const told: string[] = []
  const following = await damaged.follow({
    group: 'genealogy',
    from: async () => 0n,
    take: async (batch) => void taken.push(...batch),
    stopped: ({ topic, partition }, { code }) => void told.push(`${topic}/${partition} ${code}`),
  })
  await expect(following.settled()).rejects.toMatchObject(alarm)
  await expect(following.settled()).rejects.toMatchObject(alarm)
  expect(told).toEqual(['melt/0 LOG_CORRUPT'])
  expect(taken).toEqual([])
  await damaged.close()
})

test('a finished file that lost records at its end is an alarm', async () => {
  const log = await opened({ segmentBytes: 100 })
  await appendEach(
    log,
    Array.from({ length: 20 }, (_, i) => `record number ${i}`),
  )
  await log.close()
  const bytes = await readFile(file())
  const [first] = values(await readWith({ segmentBytes: 100 }))
  await truncate(file(), encodeFrames([entry(first!)], 0).length)
  expect(bytes.length).toBeGreaterThan(encodeFrames([entry(first!)], 0).length)
  const damaged = await opened({ segmentBytes: 100 })
  await expect(read(damaged)).rejects.toMatchObject({ code: 'LOG_CORRUPT' })
  await damaged.close()
})

async function readWith(options: Partial<SegmentLogOptions>): Promise<LogRecord[]> {
  const log = await opened(options)
  const records = await read(log)
  await log.close()
  return records
}

test('a disk that fills up refuses aloud, keeps what was promised and takes nothing more', async () => {
  const disk = new FailingDisk()
  const log = await opened({ openFile: disk.open })
  await appendEach(log, ['kept'])
  disk.roomBytes = 30
  await expect(log.append('melt', [entry('too much')])).rejects.toMatchObject({
    code: 'LOG_FAILED',
    message: expect.stringContaining('ENOSPC'),
  })
  disk.roomBytes = Number.POSITIVE_INFINITY
  await expect(log.append('melt', [entry('later')])).rejects.toMatchObject({ code: 'LOG_FAILED' })
  expect(values(await read(log))).toEqual(['kept'])
  await log.close()
  const again = await opened()
  expect(values(await read(again))).toEqual(['kept'])
  await again.append('melt', [entry('later')])
  expect(values(await read(again))).toEqual(['kept', 'later'])
  await again.close()
})

test('after a failed sync no second sync of that file is tried, and nothing unpromised comes back', async () => {
  const disk = new FailingDisk()
  const log = await opened({ openFile: disk.open })
  await appendEach(log, ['kept'])
  const syncs = disk.syncs
  disk.failSyncs = 1
  const refused = await Promise.allSettled(
    ['a', 'b', 'c'].map((said) => log.append('melt', [entry(said)])),
  )
  expect(refused.map(({ status }) => status)).toEqual(['rejected', 'rejected', 'rejected'])
  await expect(log.append('melt', [entry('d')])).rejects.toMatchObject({ code: 'LOG_FAILED' })
  await log.close()
  expect(disk.syncs).toBe(syncs + 1)
  expect(values(await readWith({}))).toEqual(['kept'])
})

test('one failed partition stops the whole log', async () => {
  const disk = new FailingDisk()
  const log = await opened({ openFile: disk.open, partitions: 4 })
  disk.failSyncs = 1
  await expect(log.append('melt', [entry('a')])).rejects.toMatchObject({ code: 'LOG_FAILED' })
  const other = Array.from({ length: 50 }, (_, i) => `machine-${i}`).find(
    (key) => partitionOf(key, 4) !== partitionOf('furnace-1', 4),
  )
  await expect(
    log.append('melt', [{ key: other!, value: Buffer.from('b') }]),
  ).rejects.toMatchObject({ code: 'LOG_FAILED' })
  await log.close()
})

test('a new file that cannot be made refuses aloud too', async () => {
  const disk = new FailingDisk()
  const log = await opened({ openFile: disk.open, segmentBytes: 10 })
  await appendEach(log, ['kept'])
  disk.failOpens = true
  await expect(log.append('melt', [entry('b')])).rejects.toMatchObject({ code: 'LOG_FAILED' })
  expect(values(await read(log))).toEqual(['kept'])
  await log.close()
})

const fullDevice = await access('/dev/full', constants.W_OK).then(
  () => true,
  () => false,
)
test.runIf(fullDevice)('a device without room is reported in the words of the system', async () => {
  const log = await opened({
    openFile: (path, flags) =>
      open(path.endsWith('.log') ? '/dev/full' : path, flags.replace('x', '')),
  })
  await expect(log.append('melt', [entry('a')])).rejects.toMatchObject({
    code: 'LOG_FAILED',
    message: expect.stringContaining('ENOSPC'),
  })
  await log.close()
})

test('another number of partitions than the folder was made with is refused', async () => {
  await (await opened({ partitions: 2 })).close()
  await expect(opened({ partitions: 4 })).rejects.toMatchObject({ code: 'LOG_OTHER_SHAPE' })
  await (await opened({ partitions: 2 })).close()
})

test('a record too large to frame is refused and the log goes on', async () => {
  const log = await opened()
  const value = Buffer.alloc(16 * 1024 * 1024)
  await expect(log.append('melt', [{ key: 'k', value }])).rejects.toMatchObject({
    code: 'LOG_TOO_LARGE',
  })
  await log.append('melt', [{ key: 'k', value: value.subarray(1) }])
  const [record] = await read(log)
  expect(record!.value.length).toBe(value.length - 1)
  await log.close()
})

test('an unknown topic is refused by name', async () => {
  const log = await opened()
  await expect(log.append('smelt', [entry('a')])).rejects.toMatchObject({
    code: 'LOG_UNKNOWN_TOPIC',
  })
  await log.close()
})

test('a log of many files is read from any offset, before and after it is opened anew', async () => {
  const log = await opened({ segmentBytes: 2_000 })
  const said = Array.from({ length: 500 }, (_, i) => `${i} `.repeat(1 + (i % 50)))
  await log.append('melt', said.slice(0, 250).map(entry))
  await appendEach(log, said.slice(250))
  expect((await readdir(join(folder, 'log', 'melt', '0'))).length).toBeGreaterThan(5)
  await expectAnywhere(log, said)
  await log.close()
  const again = await opened({ segmentBytes: 2_000 })
  await expectAnywhere(again, said)
  await again.close()
})

test('a log of many files is read at many places at once', async () => {
  const log = await opened({ segmentBytes: 2_000 })
  const said = Array.from({ length: 500 }, (_, i) => `${i} `.repeat(1 + (i % 50)))
  await appendEach(log, said)
  await Promise.all(Array.from({ length: 12 }, (_, i) => expectAnywhere(log, said, 37 * i)))
  await log.close()
})

async function expectAnywhere(log: Log, said: string[], first = 0): Promise<void> {
  for (let i = 0; i < said.length; i += 7) {
    const from = (first + i) % said.length
    const [record] = await log.read('melt', 0, BigInt(from), 1)
    expect(Buffer.from(record!.value).toString()).toBe(said[from])
  }
}

test('nothing is promised nor shown to readers before the disk has said so', async () => {
  const disk = new FailingDisk()
  const log = await opened({ openFile: disk.open })
  let promised = false
  let letGo = () => {}
  disk.held = new Promise((done) => {
    letGo = done
  })
  const appending = log.append('melt', [entry('a')]).then(() => {
    promised = true
  })
  await disk.asked
  expect(promised).toBe(false)
  expect(await read(log)).toEqual([])
  letGo()
  await appending
  expect(values(await read(log))).toEqual(['a'])
  await log.close()
})

test('appends that come together share a sync', async () => {
  const disk = new FailingDisk()
  const log = await opened({ openFile: disk.open })
  const before = disk.syncs
  await Promise.all(Array.from({ length: 100 }, (_, i) => log.append('melt', [entry(`${i}`)])))
  expect(disk.syncs - before).toBe(1)
  await log.close()
})

/** A disk that can be told to have no room left, or to fail its next syncs. */
class FailingDisk {
  roomBytes = Number.POSITIVE_INFINITY
  failSyncs = 0
  failOpens = false
  syncs = 0
  /** What every sync waits for. */
  held = Promise.resolve()
  #heard = () => {}
  /** Resolves when a sync has been asked for. */
  readonly asked = new Promise<void>((heard) => {
    this.#heard = heard
  })

  open: OpenFile = async (path, flags) => {
    if (this.failOpens) throw Object.assign(new Error('ENOSPC: no space left'), { code: 'ENOSPC' })
    const handle = await open(path, flags)
    const disk = this
    const write = handle.write.bind(handle) as (
      ...args: unknown[]
    ) => Promise<{ bytesWritten: number }>
    const datasync = handle.datasync.bind(handle)
    return Object.assign(handle, {
      async write(bytes: Uint8Array, from: number, length: number, at: number) {
        if (disk.roomBytes <= 0) throw new Error('ENOSPC: no space left on device, write')
        const { bytesWritten } = await write(bytes, from, Math.min(length, disk.roomBytes), at)
        disk.roomBytes -= bytesWritten
        return { bytesWritten, buffer: bytes }
      },
      async datasync() {
        disk.syncs++
        disk.#heard()
        await disk.held
        if (disk.failSyncs-- > 0) throw new Error('EIO: i/o error, fdatasync')
        return datasync()
      },
    }) as FileHandle
  }
}
