// What the frame asks of a page, and what it gives one.
import type { TemplateResult } from 'lit-html'
import type { Units } from '../words/units.ts'
import type { SignedIn } from './ask.ts'
import type { News } from './news.ts'

export interface Desk {
  readonly who: SignedIn
  readonly units: Units
  /** How wide a drawing may be; it is laid out anew for each, never shrunk. Unit: px. */
  readonly room: number
  /**
   * Goes to an address of the desk, as a link does; `instead` of this page, which Back then passes over. What
   * is held goes along to an inquiry, where its words may be written down.
   */
  go(address: string, how?: { instead?: boolean }): void
  /** Puts what is now asked into the address, so that the page can be mailed and printed; no new page. */
  keep(parameters: URLSearchParams): void
  redraw(): void
  /** Said aloud to those who listen to the page; urgent only for a hold or recall on what is being read. */
  say(sentence: string, urgent?: boolean): void
}

export interface Page {
  /** The question as a sentence: the title of the document. */
  title(): string
  /** All below the head. */
  view(): TemplateResult
  /** Reports came in or something was decided: it may add a line and never moves what is being read. */
  hear?(news: News): void
  /** Something was scanned while the page is open; without it, it is taken as held. */
  scan?(text: string): void
  /** It is left. */
  close?(): void
}

/** Opens a page with the parameters of its address. */
export type OpenPage = (desk: Desk, parameters: URLSearchParams) => Page
