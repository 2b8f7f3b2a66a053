// What a reader waits for: the first answer over a slow line, a step of the ruler, a page of rows.
import { gzipSync } from 'node:zlib'
import type { Browser, BrowserContext, CDPSession, Page } from 'playwright-core'
import type { Role } from '../../services/access/who.ts'
import { buildDesk } from '../../services/desk/make/build.ts'
import { DEMO } from '../../services/plant/work.ts'
import { startBrowser } from '../desk/chromium.ts'
import { shippedLotOf } from '../desk/shipped-lot.ts'
import { WorkedHouse } from '../house.ts'
import { type Finding, report } from './finding.ts'

interface Line {
  what: string
  kbitPerS: number
  latencyMs: number
  /** So many times slower than this processor. */
  slower: number
}

const FAST: Line = { what: '1.6 Mbit/s, 150 ms', kbitPerS: 1_600, latencyMs: 150, slower: 1 }
const SLOW: Line = {
  ...{ what: '400 kbit/s, 400 ms, a processor of a quarter', kbitPerS: 400, latencyMs: 400 },
  slower: 4,
}

/** Longest wait for an answer that is of use. Unit: ms. */
const COLD: readonly [page: 'inquiry' | 'reach', line: Line, limitMs: number][] = [
  ['inquiry', FAST, 1_000],
  ['reach', FAST, 1_500],
  ['inquiry', SLOW, 2_000],
  ['reach', SLOW, 3_000],
]

/** Script and style until the answer stands, each file packed by gzip. Unit: bytes. */
const HEAVIEST: Readonly<Record<'inquiry' | 'reach' | 'rates', number>> = {
  inquiry: 16_000,
  reach: 40_000,
  rates: 40_000,
}

const RATES = {
  stage: 'after-blast',
  by: 'RECIPE',
  from: '2026-04-01T06:00:00Z',
  to: '2026-04-20T06:00:00Z',
}

const ROUNDS = 5
const LARGEST_ANSWER_BYTES = 16_000

/** Run in the page: marks the moment the answer is drawn. */
const MARK_ANSWER = `
  const watch = new MutationObserver(() => {
    if (!document.querySelector('h2.answer')) return
    watch.disconnect()
    requestAnimationFrame(() => performance.mark('answered'))
  })
  watch.observe(document, { childList: true, subtree: true })`

/** Run in the page: scripts and styles sent for before the answer was drawn; what comes after it nobody waits for. */
const FILES_BEFORE_ANSWER = `
  performance.getEntriesByType('resource')
    .filter(({ name, startTime }) =>
      /\\.(js|css)$/.test(name) && startTime < performance.getEntriesByName('answered')[0].startTime)
    .map(({ name }) => name)`

/** Run in the page: what each of 60 steps took. It draws in a microtask; asking for a box lays it out. */
const STEP_RULER = `(async () => {
  const took = []
  for (let step = 0; step < 60; step++) {
    const ruler = document.querySelector('input[type=range]')
    ruler.value = String((Number(ruler.value) + 1) % Number(ruler.max))
    const began = performance.now()
    ruler.dispatchEvent(new Event('input', { bubbles: true }))
    await Promise.resolve()
    document.body.getBoundingClientRect()
    took.push(performance.now() - began)
    await new Promise(requestAnimationFrame)
  }
  return took
})()`

/** Run in the page: has more rows come, lays them out and counts them. By a hand from outside it would work for that too. */
const MORE_ROWS = `(async () => {
  const rows = document.getElementsByTagName('tr')
  const shown = rows.length
  const press = [...document.querySelectorAll('button')].find(({ textContent }) => textContent === 'Show 50 more')
  await new Promise((resolve) => {
    new MutationObserver(() => rows.length > shown && resolve()).observe(document.body, { childList: true, subtree: true })
    press.click()
  })
  document.body.getBoundingClientRect()
  return rows.length - shown
})()`

export async function measurePages(): Promise<Finding[]> {
  await buildDesk()
  await using worked = await WorkedHouse.open({ ...DEMO, days: 1 })
  const browser = await startBrowser()
  try {
    return await new Reader(worked, browser).findings()
  } finally {
    await browser.close()
  }
}

class Reader {
  readonly #worked: WorkedHouse
  readonly #browser: Browser

  constructor(worked: WorkedHouse, browser: Browser) {
    this.#worked = worked
    this.#browser = browser
  }

  async findings(): Promise<Finding[]> {
    const addresses = await this.#addresses()
    const findings: Finding[] = []
    for (const [page, line, limitMs] of COLD) {
      const waits: number[] = []
      for (let round = 0; round < ROUNDS; round++)
        waits.push(await this.#coldMs(page, addresses[page], line))
      const ms = quantile(waits, 0.5)
      findings.push({
        what: `first answer of the page ${page}, nothing kept, ${line.what}: half within`,
        measured: `${Math.round(ms)} ms`,
        limit: `at most ${limitMs} ms`,
        pass: ms <= limitMs,
      })
    }
    for (const page of ['inquiry', 'reach', 'rates'] as const)
      findings.push(await this.#weight(page, addresses[page]))
    findings.push(await this.#answerSize(addresses.reach))
    for (const [slower, p50Ms, p95Ms] of [
      [1, 8, 16],
      [4, 16, 50],
    ] as const)
      findings.push(await this.#ruler(addresses.reach, { slower, p50Ms, p95Ms }))
    for (const [slower, limitMs] of [
      [1, 16],
      [4, 50],
    ] as const)
      findings.push(await this.#rows(addresses.touched, { slower, limitMs }))
    return findings
  }

  async #addresses(): Promise<Record<'inquiry' | 'reach' | 'rates' | 'touched', string>> {
    const lot = this.#worked.truth.cause!.lot
    const { packs } = await this.#worked.ask('{ packs(first: 1) { edges { node { marks } } } }')
    return {
      inquiry: `/inquiry?${new URLSearchParams({ mark: packs.edges[0].node.marks[0] })}`,
      reach: `/reach?${new URLSearchParams({ from: lot, share: '0.01' })}`,
      rates: `/rates?${new URLSearchParams(RATES)}`,
      touched: `/reach?${new URLSearchParams({ from: await shippedLotOf(this.#worked) })}`,
    }
  }

  /** From the press to the answer on the screen, by one who is signed in and has nothing kept. Unit: ms. */
  async #coldMs(page: 'inquiry' | 'reach', address: string, line: Line): Promise<number> {
    await using tab = await Tab.open(
      this.#worked,
      this.#browser,
      page === 'inquiry' ? 'service' : 'quality',
    )
    await tab.slowDown(line)
    await tab.page.addInitScript(MARK_ANSWER)
    await tab.goto(address)
    return await tab.page.evaluate("performance.getEntriesByName('answered')[0].startTime")
  }

  async #weight(page: keyof typeof HEAVIEST, address: string): Promise<Finding> {
    await using tab = await Tab.open(
      this.#worked,
      this.#browser,
      page === 'inquiry' ? 'service' : 'quality',
    )
    await tab.page.addInitScript(MARK_ANSWER)
    await tab.goto(address)
    const files = await tab.page.evaluate<string[]>(FILES_BEFORE_ANSWER)
    const bytes = await Promise.all(
      files.map(async (file) => {
        const body = await (await tab.page.context().request.get(file)).body()
        return gzipSync(body, { level: 9 }).length
      }),
    ).then((sizes) => sizes.reduce((sum, each) => sum + each, 0))
    return {
      what: `script and style of the page ${page} until its answer stands, gzip, ${files.length} files`,
      measured: `${(bytes / 1_000).toFixed(1)} kB`,
      limit: `at most ${HEAVIEST[page] / 1_000} kB`,
      pass: bytes <= HEAVIEST[page],
    }
  }

  async #answerSize(address: string): Promise<Finding> {
    await using tab = await Tab.open(this.#worked, this.#browser, 'quality')
    const answers: Promise<Buffer>[] = []
    tab.page.on('response', (response) => {
      if (response.url().endsWith('/graphql')) answers.push(response.body())
    })
    await tab.goto(address)
    const bytes = Math.max(...(await Promise.all(answers)).map((body) => gzipSync(body).length))
    return {
      what: 'largest answer that the page reach is made of, gzip',
      measured: `${(bytes / 1_000).toFixed(1)} kB`,
      limit: `at most ${LARGEST_ANSWER_BYTES / 1_000} kB`,
      pass: bytes <= LARGEST_ANSWER_BYTES,
    }
  }

  async #ruler(
    address: string,
    { slower, p50Ms, p95Ms }: { slower: number; p50Ms: number; p95Ms: number },
  ): Promise<Finding> {
    await using tab = await Tab.open(this.#worked, this.#browser, 'quality')
    await tab.goto(address)
    await tab.slowDown({ slower })
    const steps = await tab.page.evaluate<number[]>(STEP_RULER)
    const [p50, p95] = [quantile(steps, 0.5), quantile(steps, 0.95)]
    return {
      what: `a step of the ruler to its layout, ${speedWords(slower)}`,
      measured: `half within ${p50.toFixed(1)} ms, 95 in 100 within ${p95.toFixed(1)} ms`,
      limit: `at most ${p50Ms} and ${p95Ms} ms`,
      pass: p50 <= p50Ms && p95 <= p95Ms,
    }
  }

  /** Script, style and layout, as the browser counts them: the way over the line does not count. */
  async #rows(
    address: string,
    { slower, limitMs }: { slower: number; limitMs: number },
  ): Promise<Finding> {
    const works: number[] = []
    let more = 0
    for (let round = 0; round < ROUNDS; round++) {
      await using tab = await Tab.open(this.#worked, this.#browser, 'quality')
      await tab.goto(address)
      await tab.slowDown({ slower })
      const before = await tab.workMs()
      more = await tab.run(MORE_ROWS)
      works.push((await tab.workMs()) - before)
    }
    const ms = quantile(works, 0.5)
    return {
      what: `work of the page for ${more} more rows, ${speedWords(slower)}: half within`,
      measured: `${ms.toFixed(1)} ms`,
      limit: `at most ${limitMs} ms`,
      pass: ms <= limitMs,
    }
  }
}

/** A tab of its own, with nothing kept from before. */
class Tab implements AsyncDisposable {
  readonly page: Page
  readonly #context: BrowserContext
  readonly #tools: CDPSession
  readonly #house: string

  private constructor(house: string, context: BrowserContext, page: Page, tools: CDPSession) {
    this.#house = house
    this.#context = context
    this.page = page
    this.#tools = tools
  }

  static async open(worked: WorkedHouse, browser: Browser, role: Role): Promise<Tab> {
    const context = await browser.newContext({ viewport: { width: 1280, height: 900 } })
    const house = worked.house.address
    await context.request.post(`${house}/session`, { headers: worked.as(role) })
    const page = await context.newPage()
    const tools = await context.newCDPSession(page)
    await tools.send('Performance.enable')
    return new Tab(house, context, page, tools)
  }

  async slowDown({ kbitPerS, latencyMs = 0, slower = 1 }: Partial<Line>): Promise<void> {
    await this.#tools.send('Emulation.setCPUThrottlingRate', { rate: slower })
    if (!kbitPerS) return
    await this.#tools.send('Network.enable')
    const bytesPerS = (kbitPerS * 1_000) / 8
    await this.#tools.send('Network.emulateNetworkConditions', {
      offline: false,
      latency: latencyMs,
      downloadThroughput: bytesPerS,
      uploadThroughput: bytesPerS,
    })
  }

  /** Until the answer stands. */
  async goto(address: string): Promise<void> {
    await this.page.goto(this.#house + address)
    await this.page.locator('h2.answer').waitFor()
  }

  /** What an expression comes to, with nothing of the hand from outside run in the page beside it. */
  async run(expression: string): Promise<number> {
    const how = { awaitPromise: true, returnByValue: true }
    return (await this.#tools.send('Runtime.evaluate', { expression, ...how })).result.value
  }

  async workMs(): Promise<number> {
    const { metrics } = await this.#tools.send('Performance.getMetrics')
    const seconds = (name: string) => metrics.find((metric) => metric.name === name)?.value ?? 0
    return (
      1_000 *
      (seconds('ScriptDuration') + seconds('LayoutDuration') + seconds('RecalcStyleDuration'))
    )
  }

  async [Symbol.asyncDispose](): Promise<void> {
    await this.#context.close()
  }
}

function speedWords(slower: number): string {
  return slower === 1 ? 'this processor' : 'a processor of a quarter'
}

function quantile(values: readonly number[], part: number): number {
  const sorted = values.toSorted((a, b) => a - b)
  return sorted[Math.min(sorted.length - 1, Math.floor(part * sorted.length))]!
}

if (import.meta.main) report(await measurePages())
