// Stands in for node:fs/promises under the segment log. A file has what was written and what is known
// to be on the disk; a kill leaves the first, a power cut the second and any part of the difference.
// Folders begin with the process that uses them, as in /melt-door#3/log: the part behind # says which
// life of it, and what a dead one was about to do never happens.
import type { FileHandle } from 'node:fs/promises'
import { type Life, type World, world } from './world.ts'

type Change = { at: number; bytes: Buffer } | { cutTo: number }

interface File {
  /** As programs see it. */
  bytes: Buffer
  /** As a power cut would leave it, without the changes. */
  safe: Buffer
  changes: Change[]
}

/** What can go wrong with it, as chances of each operation. */
export interface DiskFaults {
  full: number
  failedSync: number
  /** The process that asks for it dies in the middle. */
  death: number
}

const PAGE_BYTES = 64
const disks = new WeakMap<World, Map<string, Disk>>()

/** The disk of a machine, which stays when its processes go. */
export class Disk {
  readonly files = new Map<string, File>()
  /** Names as a power cut would leave them, and what has been done to them since. */
  #safeNames = new Map<string, File>()
  #nameChanges: ((names: Map<string, File>) => void)[] = []
  faults: DiskFaults = { full: 0, failedSync: 0, death: 0 }
  /** Ends the process that uses it, and perhaps its power. */
  kill: () => void = () => undefined
  life: Life | undefined
  #lives = 0

  /** Begins another life on it; answers where its folder is. */
  live(life: Life, name: string): string {
    this.life = life
    const all = disks.get(world()) ?? new Map<string, Disk>()
    disks.set(world(), all)
    all.set(name, this)
    return `/${name}#${++this.#lives}`
  }

  get lives(): number {
    return this.#lives
  }

  changeNames(change: (names: Map<string, File>) => void): void {
    change(this.files)
    this.#nameChanges.push(change)
  }

  syncNames(): void {
    for (const change of this.#nameChanges.splice(0)) change(this.#safeNames)
  }

  /** What is not known to be on the disk is there in any part, or not at all. */
  cutPower(chance: World): void {
    const kept = this.#nameChanges.slice(0, chance.whole(0, this.#nameChanges.length))
    for (const change of kept) change(this.#safeNames)
    this.#nameChanges = []
    this.files.clear()
    for (const [path, file] of this.#safeNames) this.files.set(path, file)
    for (const file of new Set(this.files.values())) {
      for (const change of file.changes) file.safe = partly(file.safe, change, chance)
      file.changes = []
      file.bytes = Buffer.from(file.safe)
    }
  }
}

/** A change of which each page may have come to the disk or not. */
function partly(bytes: Buffer, change: Change, chance: World): Buffer {
  if ('cutTo' in change) return chance.chance(0.5) ? bytes.subarray(0, change.cutTo) : bytes
  let result = bytes
  for (let from = 0; from < change.bytes.length; from += PAGE_BYTES)
    if (chance.chance(0.5))
      result = overlaid(result, change.at + from, change.bytes.subarray(from, from + PAGE_BYTES))
  return result
}

function overlaid(bytes: Buffer, at: number, more: Buffer): Buffer {
  const result = Buffer.alloc(Math.max(bytes.length, at + more.length))
  bytes.copy(result)
  more.copy(result, at)
  return result
}

/** The disk a path leads to, the path on it, and the life that asks. */
async function place(path: string): Promise<{ disk: Disk; on: string; life: Life }> {
  const [, name, no, on] = /^\/([^#]+)#(\d+)(.*)$/.exec(path)!
  const disk = disks.get(world())!.get(name!)!
  if (disk.lives !== Number(no)) return new Promise(() => undefined)
  const life = disk.life!
  await life.act(0.01, 0.3)
  return { disk, on: on!, life }
}

/** Time passes, in which the process may die. */
async function work(disk: Disk, life: Life, leastMs: number, mostMs: number): Promise<void> {
  const chance = world()
  if (chance.chance(disk.faults.death))
    chance.later(chance.between(0, mostMs), () => life.alive && disk.kill())
  await life.act(leastMs, mostMs)
}

function broken(code: string, what: string): Error {
  return Object.assign(new Error(`${code}: ${what}`), { code })
}

export async function mkdir(path: string): Promise<undefined> {
  await place(path)
  return undefined
}

export async function readdir(path: string): Promise<string[]> {
  const { disk, on } = await place(path)
  const names = [...disk.files.keys()].filter((each) => each.startsWith(on + '/'))
  return names.map((each) => each.slice(on.length + 1).split('/')[0]!)
}

export async function rename(from: string, to: string): Promise<void> {
  const { disk, on } = await place(from)
  const target = (await place(to)).on
  disk.changeNames((names) => {
    const file = names.get(on)
    if (!file) return
    names.delete(on)
    names.set(target, file)
  })
}

export async function readFile(path: string, _encoding: 'utf8'): Promise<string> {
  const { disk, on } = await place(path)
  const file = disk.files.get(on)
  if (!file) throw broken('ENOENT', path)
  return file.bytes.toString()
}

export async function appendFile(path: string, bytes: Uint8Array): Promise<void> {
  const { disk, on } = await place(path)
  const file = disk.files.get(on) ?? newFile(disk, on)
  write(file, file.bytes.length, Buffer.from(bytes))
}

export async function open(path: string, flags: string): Promise<FileHandle> {
  const { disk, on, life } = await place(path)
  const isFolder = !/\.[a-z]+$/.test(on)
  if (isFolder) return handle(disk, life, undefined)
  let file = disk.files.get(on)
  if (flags === 'wx+' && file) throw broken('EEXIST', path)
  if (!file && flags.startsWith('r')) throw broken('ENOENT', path)
  if (!file && world().chance(disk.faults.full)) throw broken('ENOSPC', `no room, open ${path}`)
  file ??= newFile(disk, on)
  if (flags === 'w') cut(file, 0)
  return handle(disk, life, file)
}

function newFile(disk: Disk, path: string): File {
  const file: File = { bytes: Buffer.alloc(0), safe: Buffer.alloc(0), changes: [] }
  disk.changeNames((names) => names.set(path, file))
  return file
}

function write(file: File, at: number, bytes: Buffer): void {
  file.bytes = overlaid(file.bytes, at, bytes)
  file.changes.push({ at, bytes })
}

function cut(file: File, to: number): void {
  file.bytes = file.bytes.subarray(0, to)
  file.changes.push({ cutTo: to })
}

function handle(disk: Disk, life: Life, file: File | undefined): FileHandle {
  const sync = async () => {
    const slow = world().chance(0.05)
    await work(disk, life, 0.1, slow ? 500 : 4)
    if (!file) return disk.syncNames()
    if (world().chance(disk.faults.failedSync)) throw broken('EIO', 'i/o error, fdatasync')
    file.safe = Buffer.from(file.bytes)
    file.changes = []
  }
  const made = {
    sync,
    datasync: sync,
    async write(bytes: Uint8Array, from: number, length: number, at: number) {
      const part = Buffer.from(bytes.subarray(from, from + length))
      let landed = false
      // A kill in the middle of a write may leave a part of it.
      life.onDeath(() => {
        if (!landed) write(file!, at, part.subarray(0, world().whole(0, part.length)))
      })
      await work(disk, life, 0.01, 0.5)
      landed = true
      const fits = world().chance(disk.faults.full)
        ? world().whole(0, part.length - 1)
        : part.length
      write(file!, at, part.subarray(0, fits))
      if (fits === 0) throw broken('ENOSPC', 'no space left on device, write')
      return { bytesWritten: fits, buffer: bytes }
    },
    async read(into: Uint8Array, at: number, length: number, from: number) {
      await life.act(0.01, 0.1)
      const bytesRead = file!.bytes.copy(into, at, from, from + length)
      return { bytesRead, buffer: into }
    },
    async writeFile(text: string) {
      await work(disk, life, 0.01, 0.5)
      write(file!, 0, Buffer.from(text))
    },
    async truncate(to: number) {
      await work(disk, life, 0.01, 0.2)
      cut(file!, to)
    },
    async stat() {
      return { size: file!.bytes.length }
    },
    async close() {
      await life.act(0.01, 0.1)
    },
    async [Symbol.asyncDispose]() {
      await life.act(0.01, 0.1)
    },
  }
  return made as unknown as FileHandle
}
