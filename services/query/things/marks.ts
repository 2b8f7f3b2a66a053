// Marks as people read them out, and what of a pack or pan they are.
import type { View } from '../../metal/followed.ts'
import { markKey } from '../record/mark-book.ts'

/** Whether a mark may be what was read, `?` being any one sign. */
export function fitsMark(written: string, mark: string): boolean {
  const [read, whole] = [markKey(written), markKey(mark)]
  return (
    read.length === whole.length && [...read].every((sign, i) => sign === '?' || sign === whole[i])
  )
}

/** The mark that fits what was read; the number of a pan that has one. */
export function markOf(view: View, no: number, written: string): string {
  const number = view.things.name(no).replace(/^[a-z]+:/, '')
  if (view.things.kind(no) === 'pan') return number
  const marks = view.book.of(no, 'pack-marked', view.asOf).map(({ fact }) => fact.mark)
  return marks.find((mark) => fitsMark(written, mark)) ?? marks[0] ?? number
}
