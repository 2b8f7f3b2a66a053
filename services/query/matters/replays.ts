// What was set aside, read once more through the log: as it came, or as somebody has put it right. What
// was set aside stays as it is; the report it becomes says where that stood, and who had it replayed.
import { hasOneOf } from '../../access/who.ts'
import { STATIONS } from '../../events/fact.ts'
import { problemSentence } from '../../events/problem.ts'
import { LogError } from '../../log/log-error.ts'
import { replayed } from '../../stations/replay.ts'
import { readReplay } from '../../store/read-aside.ts'
import { placeText } from '../../store/read-in-force.ts'
import { readSetAsideAt } from '../../store/read-reports.ts'
import type { Context } from '../context.ts'
import { placeInId } from '../things/reports.ts'
import { type Decision, decider, refused } from './publish.ts'

export interface ReplayInput {
  report: string
  edited?: string | null
}

export async function replaySetAside(
  context: Context,
  { report, edited }: ReplayInput,
): Promise<Decision> {
  const { store, plant } = context
  const place = placeInId(report)
  const aside = place && (await readSetAsideAt(store, place))
  const isOwn = aside && (aside.plant === plant || aside.plant === null)
  const station = aside && STATIONS.find((each) => aside.topic.endsWith(each))
  if (!place || !isOwn || !station)
    return refused('input.report', 'Nothing was set aside there. Give it as the list has it.')
  if (edited != null && !hasOneOf(context.who, ['quality']))
    return refused('input.edited', 'Only quality puts a report right. Replay it as it came.')
  const before = await readReplay(store.pool, place)
  if (before !== undefined)
    return {
      __typename: 'AlreadyPublished',
      recordedAt: before.recorded,
      sentence: `It was replayed by ${before.by} before; nothing was added.`,
    }
  const result = replayed(
    { ...place, station, bytes: aside.bytes },
    {
      ...{ by: decider(context), now: context.now() },
      ...(edited != null && { edited: Buffer.from(edited) }),
    },
  )
  if (!result.ok) {
    const field = edited == null ? 'input.report' : 'input.edited'
    const sentences = result.problems.map(problemSentence)
    return refused(field, `It cannot be read: ${sentences.join(' ') || result.reason}`)
  }
  if (result.statement.plant !== plant)
    return refused('input.edited', 'It is of another plant. Give a source of this one.')
  try {
    const at = await context.append(result.station, result.entry)
    return {
      __typename: 'Published',
      sentence: `What was set aside at ${placeText(place)} stands in the log again, replayed by ${decider(context)}.`,
      matter: `report:${placeText(at)}`,
      recordedAt: result.statement.recorded,
    }
  } catch (error) {
    if (!(error instanceof LogError) || error.code !== 'LOG_AWAY') throw error
    return refused('input.report', 'The log does not answer. Try again: twice does no harm.')
  }
}
