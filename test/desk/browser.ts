// A real browser before a real house.
import { existsSync } from 'node:fs'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core'
import { inject, onTestFinished } from 'vitest'
import type { Role } from '../../services/access/who.ts'

const PROGRAMS = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome']

/** As root, and without a network beyond this machine. */
const FLAGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
]

/** Where there is no browser the tests are skipped, and say so; REQUIRE_BROWSER forbids that. */
export const browserProgram: string | undefined = PROGRAMS.find((path) => existsSync(path))

export const whyNoBrowser = `no Chromium at ${PROGRAMS.join(', ')}`

if (!browserProgram && process.env.REQUIRE_BROWSER)
  throw new Error(`REQUIRE_BROWSER is set, and there is ${whyNoBrowser}.`)

export interface How {
  width?: number
  height?: number
  /** Stays open for the tests that follow, until the browser is closed. */
  isKept?: boolean
  /** Done before the page opens, such as cutting the network. */
  prepare?(context: BrowserContext): Promise<unknown>
}

/** The browser before the house that all tests of pages share. */
export class DeskBrowser implements AsyncDisposable {
  readonly address = inject('address')
  readonly #tokens = new Map<Role, string>(inject('tokens'))
  readonly #browser: Browser
  /** Errors of pages: a test that expects none looks here. */
  complaints: string[] = []

  private constructor(browser: Browser) {
    this.#browser = browser
  }

  static async start(): Promise<DeskBrowser> {
    return new DeskBrowser(await chromium.launch({ executablePath: browserProgram!, args: FLAGS }))
  }

  /** A page of the desk, signed in as the role; as nobody where there is none. */
  async open(role: Role | undefined, address: string, how: How = {}): Promise<Page> {
    const { width = 1280, height = 900 } = how
    const context = await this.#browser.newContext({
      ...{ viewport: { width, height }, reducedMotion: 'reduce', timezoneId: 'America/Denver' },
    })
    // One who asks may have so many pages open that listen for news.
    if (!how.isKept) onTestFinished(() => context.close())
    await how.prepare?.(context)
    const page = await context.newPage()
    page.on('pageerror', (error) => this.complaints.push(`${address}: ${error.message}`))
    page.on('console', (line) => {
      if (line.type() === 'error') this.complaints.push(`${address}: ${line.text()}`)
    })
    const token = role === undefined ? '' : `#${this.#tokens.get(role)}`
    await page.goto(`${this.address}${address}${token}`)
    return page
  }

  /** The data of an answer of the house, for what a test has to know. */
  async ask<Data>(query: string, variables: object = {}, role: Role = 'quality'): Promise<Data> {
    const response = await fetch(`${this.address}/graphql`, {
      method: 'POST',
      headers: {
        'content-type': 'application/json',
        authorization: `Bearer ${this.#tokens.get(role)}`,
      },
      body: JSON.stringify({ query, variables }),
    })
    const { data, errors } = (await response.json()) as { data: Data; errors?: unknown }
    if (errors) throw new Error(JSON.stringify(errors))
    return data
  }

  async [Symbol.asyncDispose](): Promise<void> {
    await this.#browser.close()
  }
}
