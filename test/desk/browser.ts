// A real browser before a real house.
import type { Browser, Page } from 'playwright-core'
import { inject, onTestFinished } from 'vitest'
import type { Role } from '../../services/access/who.ts'
import { startBrowser } from './chromium.ts'

export interface How {
  width?: number
  height?: number
  /** In a profile of its own, closed after the test: what is kept in the browser differs, such as who is signed in. */
  isAlone?: boolean
  /** Done before the page opens, such as doctoring what the house says. */
  prepare?(page: Page): Promise<unknown>
}

/** The browser before the house that all tests of pages share. */
export class DeskBrowser implements AsyncDisposable {
  readonly address = inject('address')
  readonly #tokens = new Map<Role, string>(inject('tokens'))
  readonly #browser: Browser
  readonly #tabs = new Map<Role | undefined, Page>()
  /** Errors of pages: a test that expects none looks here. */
  complaints: string[] = []

  private constructor(browser: Browser) {
    this.#browser = browser
  }

  static async start(): Promise<DeskBrowser> {
    return new DeskBrowser(await startBrowser())
  }

  /**
   * A page of the desk, newly loaded and signed in as the role; as nobody where there is none. Tests of a file that
   * ask as the same role go on in one tab: a new profile takes longer than most tests.
   */
  async open(role: Role | undefined, address: string, how: How = {}): Promise<Page> {
    const { width = 1280, height = 900 } = how
    const page = how.isAlone ? await this.newTab() : await this.#shared(role)
    await page.setViewportSize({ width, height })
    await how.prepare?.(page)
    await this.goTo(page, role, address)
    return page
  }

  /** A tab in a profile of its own, closed after the test; outside of tests with the browser. */
  async newTab({ isKept = false } = {}): Promise<Page> {
    const context = await this.#browser.newContext({
      ...{ reducedMotion: 'reduce', timezoneId: 'America/Denver' },
    })
    // One who asks may have so many pages open that listen for news.
    if (!isKept) onTestFinished(() => context.close())
    const page = await context.newPage()
    page.on('pageerror', (error) => this.complaints.push(`${page.url()}: ${error.message}`))
    page.on('console', (line) => {
      if (line.type() === 'error') this.complaints.push(`${page.url()}: ${line.text()}`)
    })
    return page
  }

  async goTo(page: Page, role: Role | undefined, address: string): Promise<void> {
    const token = role === undefined ? '' : `#${this.#tokens.get(role)}`
    // From the same address it would be a leap within the page.
    if (page.url() !== 'about:blank') await page.goto('about:blank')
    await page.goto(`${this.address}${address}${token}`)
  }

  async #shared(role: Role | undefined): Promise<Page> {
    const page = this.#tabs.get(role) ?? (await this.newTab({ isKept: true }))
    this.#tabs.set(role, page)
    onTestFinished(async ({ task }) => {
      // What a failed test leaves behind is nobody's to find.
      if (task.result?.state !== 'pass') {
        this.#tabs.delete(role)
        return page.context().close()
      }
      await page.unrouteAll({ behavior: 'ignoreErrors' })
      await page.context().setOffline(false)
      await page.emulateMedia({ media: null })
      await page.goto('about:blank')
    })
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
