// One process per data folder. The holder listens on a socket inside the folder (a named pipe on
// Windows): the system closes it with the process, however it ends. Who connects is told the holder's
// pid and, once it is announced, where the house answers.
// The socket is known on this machine only: do not share a data folder over a network.
import { createHash } from 'node:crypto'
import { mkdir, open, realpath, stat, unlink } from 'node:fs/promises'
import type { Server } from 'node:net'
import { connect, createServer } from 'node:net'
import { join } from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'

export interface Holder {
  /** Absent when the holder is too busy to answer. */
  pid?: number
  /** Where the house answers, such as http://127.0.0.1:4000; absent when it does not. */
  address?: string
}

export interface FolderLock {
  /** From now on those who ask are told where the house answers. */
  announce(address: string): void
  release(): Promise<void>
}

/** Thrown when another process holds the folder. */
export class FolderHeldError extends Error {
  readonly holder: Holder

  constructor(folder: string, holder: Holder) {
    const who = holder.pid ? `process ${holder.pid}` : 'another process'
    super(`The folder ${folder} is in use by ${who}. Stop that one first, or name another folder.`)
    this.name = 'FolderHeldError'
    this.holder = holder
  }
}

const ANSWER_MS = 1_000
const GUARD_STALE_MS = 10_000

/** Takes the folder, making it when it is not there. Throws FolderHeldError. */
export async function lockFolder(folder: string): Promise<FolderLock> {
  await mkdir(folder, { recursive: true })
  const socket = await socketOf(folder)
  const told: Holder = { pid: process.pid }
  const server = createServer((connection) => {
    connection.on('error', () => connection.destroy())
    connection.end(JSON.stringify(told) + '\n')
  })
  // The lock alone does not keep a process alive.
  server.unref()
  if (!(await listens(server, socket))) {
    const holder = await ask(socket)
    if (holder) throw new FolderHeldError(folder, holder)
    await takeOver(folder, socket, server)
  }
  return {
    announce: (address) => {
      told.address = address
    },
    release: () => new Promise((done) => server.close(() => done())),
  }
}

/** Who holds the folder now, if anyone. */
export async function holderOf(folder: string): Promise<Holder | undefined> {
  const there = await stat(folder).catch(() => undefined)
  return there ? ask(await socketOf(folder)) : undefined
}

/**
 * The socket file of a holder that is gone stands in the way. Removing it and listening are two steps,
 * so two processes could each remove the other's: a guard file lets one at a time.
 */
async function takeOver(folder: string, socket: string, server: Server): Promise<void> {
  const guard = join(folder, 'lock.taking')
  while (!(await made(guard))) {
    const age = Date.now() - ((await stat(guard).catch(() => undefined))?.mtimeMs ?? 0)
    if (age > GUARD_STALE_MS) await unlink(guard).catch(() => undefined)
    await pause(20)
  }
  try {
    // Asked twice: a socket that is bound refuses for a moment until it listens.
    const holder = (await ask(socket)) ?? (await pause(50).then(() => ask(socket)))
    if (holder) throw new FolderHeldError(folder, holder)
    await unlink(socket).catch(() => undefined)
    if (!(await listens(server, socket)))
      throw new FolderHeldError(folder, (await ask(socket)) ?? {})
  } finally {
    await unlink(guard).catch(() => undefined)
  }
}

async function made(path: string): Promise<boolean> {
  try {
    await (await open(path, 'wx')).close()
    return true
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false
    throw error
  }
}

function listens(server: Server, socket: string): Promise<boolean> {
  return new Promise((done, failed) => {
    const refused = (error: NodeJS.ErrnoException) =>
      error.code === 'EADDRINUSE' ? done(false) : failed(error)
    server.once('error', refused)
    server.listen(socket, () => {
      server.off('error', refused)
      done(true)
    })
  })
}

/** Whoever accepts a connection is alive, even when it is too busy to say who it is. */
function ask(socket: string): Promise<Holder | undefined> {
  return new Promise((done, failed) => {
    let answer = ''
    let accepted = false
    const connection = connect(socket)
    connection.setEncoding('utf8')
    connection.setTimeout(ANSWER_MS, () => connection.destroy())
    connection.on('connect', () => {
      accepted = true
    })
    connection.on('data', (text) => {
      answer += text
    })
    connection.on('error', (error: NodeJS.ErrnoException) => {
      if (accepted || error.code === 'EAGAIN') return done({})
      if (error.code === 'ECONNREFUSED' || error.code === 'ENOENT') return done(undefined)
      failed(error)
    })
    connection.on('close', () => done(holderFrom(answer)))
  })
}

function holderFrom(answer: string): Holder {
  try {
    return JSON.parse(answer)
  } catch {
    return {}
  }
}

/** A socket path has room for about a hundred bytes; a longer one stands in for its folder in /tmp. */
async function socketOf(folder: string): Promise<string> {
  const real = await realpath(folder)
  const short = createHash('sha256').update(real).digest('hex').slice(0, 32)
  if (process.platform === 'win32') return `\\\\.\\pipe\\heat-to-pan-${short}`
  const inside = join(real, 'lock')
  return Buffer.byteLength(inside) < 100 ? inside : `/tmp/heat-to-pan-${short}.lock`
}
