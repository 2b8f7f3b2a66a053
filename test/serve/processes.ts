// Services as processes of their own, as npm start makes them.
import { type ChildProcess, spawn } from 'node:child_process'
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { onTestFinished } from 'vitest'
import { readHeader } from '../../services/access/own-tokens.ts'
import type { Role } from '../../services/access/who.ts'

const START = join(import.meta.dirname, '../../services/start.ts')

export interface Line {
  level: string
  service: string
  message: string
  [fact: string]: unknown
}

export interface Running {
  /** Resolves when it listens. */
  address: Promise<string>
  /** What it said of itself, line by line. */
  lines: Line[]
  /** What it said on its way out. */
  errors: string
  /** Exit code, or the signal that ended it. */
  ended: Promise<number | string>
  kill(signal: NodeJS.Signals): void
}

/** Starts some services; kills them when the test is over. */
export function startServices(
  names: readonly string[],
  environment: Readonly<Record<string, string>>,
): Running {
  const run = spawnServices(names, environment)
  onTestFinished(() => run.kill('SIGKILL'))
  return run
}

/** The whole house in a folder of its own, for tests that share it: they end it. */
export async function startHouse(environment: Readonly<Record<string, string>>) {
  const folder = await mkdtemp(join(tmpdir(), 'house-'))
  const run = spawnServices([], { ...environment, HEAT_TO_PAN_DATA: folder })
  return Object.assign(run, {
    folder,
    async end() {
      run.kill('SIGKILL')
      await run.ended
      await rm(folder, { recursive: true, force: true })
    },
  })
}

/** Starts some services; whoever calls it ends them. */
export function spawnServices(
  names: readonly string[],
  environment: Readonly<Record<string, string>>,
): Running {
  const child = spawn(process.execPath, [START, ...names], {
    stdio: ['ignore', 'pipe', 'pipe'],
    env: { ...withoutOurs(), HEAT_TO_PAN_PORT: '0', ...environment },
  })
  return running(child, environment.HEAT_TO_PAN_DATA ?? '')
}

function running(child: ChildProcess, folder: string): Running {
  const listening = Promise.withResolvers<string>()
  listening.promise.catch(() => undefined)
  const run: Running = {
    address: listening.promise,
    lines: [],
    errors: '',
    ended: new Promise((done) => {
      child.once('close', (code, signal) => {
        listening.reject(new Error(`It ended with ${code ?? signal}: ${run.errors}`))
        done(code ?? signal!)
      })
    }),
    kill: (signal) => void child.kill(signal),
  }
  createInterface(child.stdout!).on('line', (text) => {
    const line = JSON.parse(text) as Line
    run.lines.push(line)
    if (typeof line.address !== 'string') return
    FOLDERS.set(line.address, folder)
    listening.resolve(line.address)
  })
  child.stderr!.on('data', (bytes) => {
    run.errors += bytes
  })
  return run
}

/** The environment without settings of whoever runs the tests. */
function withoutOurs(): NodeJS.ProcessEnv {
  const own = Object.entries(process.env).filter(([name]) => !name.startsWith('HEAT_TO_PAN_'))
  return Object.fromEntries(own)
}

/** Data folders of houses by their addresses. */
export const FOLDERS = new Map<string, string>()

/** The header by which one of a role signs in to the house at an address, or in a folder. */
export async function signedIn(house: string, role: Role): Promise<{ authorization: string }> {
  const folder = FOLDERS.get(house) ?? house
  const authorization = await readHeader(join(folder, 'tokens'), role)
  if (authorization === undefined) throw new Error(`The house in ${folder} has written no tokens.`)
  return { authorization }
}

export async function readyState(
  address: string,
): Promise<{ status: string; reasons?: string[]; notes?: string[] }> {
  return (await fetch(`${address}/ready`)).json() as never
}

/** Sum of a measure over its labels; undefined while it is not told. */
export async function measured(address: string, name: string): Promise<number | undefined> {
  const text = await (await fetch(`${address}/metrics`)).text()
  const lines = text.split('\n').filter((line) => new RegExp(`^${name}(\\{| )`).test(line))
  if (lines.length === 0) return undefined
  return lines.reduce((sum, line) => sum + Number(line.slice(line.lastIndexOf(' '))), 0)
}
