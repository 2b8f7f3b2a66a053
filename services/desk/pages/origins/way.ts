// The way from lots to the piece, and what fed the part in hand.
import { html, type TemplateResult } from 'lit-html'
import { partsOf, type Stage, type WayHere, wayHere, waySentence } from '../../drawings/way-here.ts'
import { figure, table } from '../../parts/figure.ts'
import { chanceWords, shareWords } from '../../words/number.ts'
import { thingWords } from '../../words/standing.ts'
import type { Found } from './found.ts'

const STAGE_NAMES: Record<string, string> = {
  LOT: 'lots',
  CHARGE: 'charges',
  HEAT: 'heats',
  LADLE: 'ladles',
  POUR: 'pours',
  SHAKE_OUT: 'shake-out',
  PACK: 'pack',
  PAN: 'pan',
}

/** Bars from lots to the piece; `hold` is told which part is pressed. */
export function wayView(
  origins: Found,
  { focus, room, hold }: { focus: string | undefined; room: number; hold(id: string): void },
): TemplateResult {
  const way = wayOf(origins, focus)
  const rows = way.stages.flatMap((stage) =>
    partsOf(stage, way).map((part) => ({ stage, ...part })),
  )
  const words = (isMetal: boolean, part: number) => (isMetal ? shareWords(part) : chanceWords(part))
  const press = (event: Event) => {
    const id = (event.target as Element).closest('[data-id]')?.getAttribute('data-id')
    if (id) hold(id)
  }
  return html`<div class="way" @click=${press}>
    ${figure({
      title: 'The way here',
      svg: wayHere(way, room),
      sentence: focus === undefined ? waySentence(way) : feedersWords(origins, focus),
      table: table({
        caption: 'The way here: metal by mass, pieces by chance',
        rows,
        columns: [
          { head: 'Stage', cell: ({ stage }) => stage.name },
          {
            head: 'What',
            isHead: true,
            cell: ({ id, name }) =>
              id
                ? html`<button type="button" class="link" data-id=${id}>${thingWords(id)}</button>`
                : name,
          },
          {
            head: 'Part',
            isNumber: true,
            cell: ({ stage, part }) => words(stage.isMetal, part),
          },
        ],
      }),
    })}
  </div>`
}

function feedersWords({ path }: Found, focus: string): string {
  const fed = path.runs.filter(({ to }) => to === focus)
  const name = thingWords(focus)
  if (fed.length === 0) return `What fed ${name} is not among what is drawn here.`
  return `${name} was fed by ${fed
    .map(
      ({ from, part, heel }) => `${thingWords(from)}${heel ? ' by heel' : ''} ${shareWords(part)}`,
    )
    .join(', ')}.`
}

function wayOf({ path, unrecorded, unknownSource }: Found, focus: string | undefined): WayHere {
  const feeders = new Set(path.runs.filter(({ to }) => to === focus).map(({ from }) => from))
  return {
    stages: oneAfterOther(
      path.columns.map(({ kind, step, metal, boxes, others, othersTogether }) => {
        const key = step ?? kind
        return {
          name: STAGE_NAMES[key] ?? key.toLowerCase().replaceAll('_', ' '),
          isMetal: metal,
          boxes: boxes.map(({ thing, part }) => ({
            ...{ id: thing.id, part: part.value },
            name: thing.id.slice(thing.id.indexOf(':') + 1),
          })),
          others: { count: others, part: othersTogether },
        }
      }),
    ),
    ...{ unrecorded: unrecorded.value, unknownSource: unknownSource.value },
    ...(focus !== undefined && { focus: { id: focus, feeders } }),
  }
}

/** Steps that the same loads went through one after the other are one stage. */
function oneAfterOther(stages: readonly Stage[]): Stage[] {
  const merged: (Stage & { first: string })[] = []
  for (const stage of stages) {
    const last = merged.at(-1)
    if (last && !stage.isMetal && !last.isMetal && sameParts(last, stage))
      last.name = `${last.first} to ${stage.name}`
    else merged.push({ ...stage, first: stage.name })
  }
  return merged
}

function sameParts(a: Stage, b: Stage): boolean {
  const parts = ({ boxes, others }: Stage) => JSON.stringify([boxes, others])
  return parts(a) === parts(b)
}
