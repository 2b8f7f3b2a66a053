// An answer by its number, as paper or a mail holds it: the page of its question, with what was said then.
import type { Desk, OpenPage, Page } from '../frame/page.ts'
import { openFormer } from './former.ts'

const PAGES: Record<string, () => Promise<OpenPage>> = {
  origins: async () => (await import('./origins.ts')).openOrigins,
  reach: async () => (await import('./reach.ts')).openReach,
}

export async function answerPage(): Promise<OpenPage> {
  const number = new URLSearchParams(location.search).get('id') ?? ''
  const load = PAGES[number.split(':')[0]!]
  return load
    ? load()
    : (desk: Desk, parameters: URLSearchParams): Page => openFormer(desk, parameters)
}
