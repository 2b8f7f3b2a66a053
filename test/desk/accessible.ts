// axe-core on a page as it stands, by WCAG 2.2 A and AA and what axe holds for good practice.
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import type { Page } from 'playwright-core'

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']

/** What axe finds, each with where. */
export async function findingsIn(page: Page): Promise<string[]> {
  // By the protocol, since the policy of the page lets no script in.
  if (!(await page.evaluate('"axe" in window'))) await page.evaluate(AXE)
  const found = await page.evaluate(async (tags) => {
    type Axe = { run(root: unknown, how: object): Promise<{ violations: Violation[] }> }
    type Violation = { id: string; help: string; nodes: { html: string }[] }
    const { axe, document } = globalThis as unknown as { axe: Axe; document: unknown }
    const { violations } = await axe.run(document, {
      runOnly: { type: 'tag', values: tags },
      // Of all else it tells one node a rule, which is much faster.
      resultTypes: ['violations'],
    })
    return violations.map(({ id, help, nodes }) => `${id}: ${help}: ${nodes[0]?.html}`)
  }, TAGS)
  return found
}
