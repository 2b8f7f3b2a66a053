// Asks at a steady rate, whether answers come or not, and tells how long each took from when it was due.
import { Agent, request } from 'node:http'
import { performance } from 'node:perf_hooks'
import { setTimeout as pause } from 'node:timers/promises'
import { parentPort, workerData } from 'node:worker_threads'
import type { Run } from './inquiries.bench.ts'

const { url, bodies, seconds, perSecond } = workerData as {
  url: string
  bodies: string[]
  seconds: number
  perSecond: number
}

const agent = new Agent({ keepAlive: true, maxSockets: 64 })

function ask(body: string): Promise<boolean> {
  return new Promise((resolve) => {
    const headers = {
      'content-type': 'application/json',
      'content-length': Buffer.byteLength(body),
    }
    const asking = request(url, { agent, method: 'POST', headers }, (response) => {
      let text = ''
      response.on('data', (part: Buffer) => {
        text += part
      })
      response.on('end', () => resolve(response.statusCode === 200 && !text.includes('"errors"')))
    })
    asking.on('error', () => resolve(false))
    asking.end(body)
  })
}

const began = performance.now()
const all = seconds * perSecond
const tookMs: number[] = []
let failed = 0
const waiting: Promise<void>[] = []
for (let i = 0; i < all; i++) {
  const due = began + (1_000 * i) / perSecond
  const early = due - performance.now()
  if (early > 1) await pause(early)
  waiting.push(
    ask(bodies[i % bodies.length]!).then((ok) => {
      tookMs.push(performance.now() - due)
      if (!ok) failed++
    }),
  )
}
await Promise.all(waiting)
tookMs.sort((a, b) => a - b)
const at = (part: number) => tookMs[Math.min(tookMs.length - 1, Math.floor(part * tookMs.length))]!
const run: Run = {
  ...{ asked: all, failed, p50: at(0.5), p99: at(0.99) },
  seconds: (performance.now() - began) / 1_000,
}
agent.destroy()
parentPort!.postMessage(run)
