// A house in a process of its own that is attacked, and how it takes that: its replies, its health meanwhile,
// what it writes down.
import { request } from 'node:http'
import { connect } from 'node:net'
import { setTimeout as pause } from 'node:timers/promises'
import { expect } from 'vitest'
import type { Role } from '../services/access/who.ts'
import { signedIn } from './serve/processes.ts'

export interface Reply {
  status: number
  headers: Record<string, string | string[] | undefined>
  text: string
}

export interface Sending {
  method?: string
  /** An undefined one is left out. */
  headers?: Record<string, string | string[] | undefined>
  body?: string | Buffer
}

export class Attacked {
  readonly address: string
  readonly #headers: ReadonlyMap<Role, string>

  private constructor(address: string, headers: ReadonlyMap<Role, string>) {
    this.address = address
    this.#headers = headers
  }

  static async at(address: string): Promise<Attacked> {
    const headers = new Map<Role, string>()
    for (const role of ['quality', 'analyst', 'service', 'admin', 'station'] as const)
      headers.set(role, (await signedIn(address, role)).authorization)
    return new Attacked(address, headers)
  }

  header(role: Role): string {
    return this.#headers.get(role)!
  }

  /** As a quality engineer with JSON, unless told. */
  send(path: string, { method = 'POST', headers = {}, body }: Sending = {}): Promise<Reply> {
    const { hostname, port } = new URL(this.address)
    const usual = { 'content-type': 'application/json', authorization: this.header('quality') }
    const all = Object.entries({ ...usual, ...headers }).filter(([, value]) => value !== undefined)
    const how = { hostname, port, path, method, agent: false, timeout: 15_000 }
    return new Promise((resolve, reject) => {
      const asked = request({ ...how, headers: Object.fromEntries(all) as never }, (response) => {
        const parts: Buffer[] = []
        response.on('data', (part: Buffer) => parts.push(part))
        response.on('error', reject)
        response.on('end', () => {
          const text = Buffer.concat(parts).toString()
          resolve({ status: response.statusCode!, headers: response.headers, text })
        })
      })
      asked.on('error', (error: NodeJS.ErrnoException) => {
        // Hung up while we were still sending: that is an answer, too.
        if (['ECONNRESET', 'EPIPE'].includes(error.code ?? ''))
          resolve({ status: 0, headers: {}, text: '' })
        else reject(error)
      })
      asked.end(body)
    })
  }

  ask(query: string, variables: unknown = {}, sending: Sending = {}): Promise<Reply> {
    return this.send('/graphql', { ...sending, body: JSON.stringify({ query, variables }) })
  }

  /** Bytes as they are; what comes back until the other end hangs up. */
  raw(bytes: string | Buffer, forMs = 2_000): Promise<string> {
    const { hostname, port } = new URL(this.address)
    return new Promise((resolve) => {
      let said = ''
      const socket = connect(Number(port), hostname, () => socket.write(bytes))
      const done = () => {
        socket.destroy()
        resolve(said)
      }
      socket.setTimeout(forMs, done)
      socket.on('data', (part) => {
        said += part
      })
      socket.on('close', done).on('error', done)
    })
  }

  /** Longest wait for /health while something is done. Unit: ms. */
  async healthWhile(work: () => Promise<unknown>): Promise<number> {
    let slowest = 0
    let isDone = false
    const working = work().finally(() => {
      isDone = true
    })
    do {
      const began = performance.now()
      const { status } = await this.send('/health', { method: 'GET' })
      slowest = Math.max(slowest, performance.now() - began)
      expect(status).toBe(200)
      await pause(15)
    } while (!isDone)
    await working
    return slowest
  }
}

/** The codes of an answer, or its kind of problem. */
export function codesOf({ text }: Reply): string[] {
  const said = JSON.parse(text) as {
    errors?: { extensions?: { code?: string } }[]
    results?: { class?: string }[]
    title?: string
  }
  return [
    ...(said.errors ?? []).map(({ extensions }) => extensions?.code ?? 'none'),
    ...(said.results ?? []).map((each) => each.class ?? 'taken'),
    ...(said.title ? [said.title] : []),
  ]
}
