// The browser of this machine, without a network beyond it.
import { existsSync } from 'node:fs'
import { type Browser, chromium } from 'playwright-core'

/** First the one without windows: the same engine at half the work. */
const PROGRAMS = [
  '/usr/bin/chromium-headless-shell',
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
]

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

/** Throws where there is none. */
export function startBrowser(): Promise<Browser> {
  return chromium.launch({ executablePath: browserProgram!, args: FLAGS })
}
