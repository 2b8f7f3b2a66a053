// What a report says, field by field, as it was entered.
import type { Column } from './figure.ts'

interface Entered {
  field: string
  value: string
  unit: string | null
}

export const ENTERED: Column<Entered>[] = [
  { head: 'Field', isHead: true, cell: ({ field }) => field },
  { head: 'As entered', cell: ({ value }) => value },
  { head: 'Unit, UN/CEFACT Rec. 20', cell: ({ unit }) => unit },
]
