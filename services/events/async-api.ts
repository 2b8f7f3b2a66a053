// The contract of the stream as AsyncAPI 3.1: nine topics, and on each what its station may say.
import type { EventType } from './event-type.ts'
import { STATIONS } from './fact.ts'
import type { JsonObject } from './statement.ts'

const BINDING = '0.5.0'
const CLOUDEVENT = 'application/cloudevents+json'

/** The AsyncAPI document; payloads are the published schemas beside it. */
export function asyncApi(types: readonly EventType[]): JsonObject {
  return {
    asyncapi: '3.1.0',
    info: {
      title: 'heat-to-pan: what stations say',
      version: '1.0.0',
      description:
        'Every topic is a station, and only its door writes there. Events are CloudEvents 1.0.2, ' +
        'structured JSON; the key of a record is the source of its event. Topic names may carry a ' +
        'prefix, the same for all. New optional fields come without a new version, and readers let ' +
        'unknown fields through; a changed meaning is a new type.',
    },
    defaultContentType: CLOUDEVENT,
    channels: Object.fromEntries(STATIONS.map((station) => [station, channel(station, types)])),
    operations: Object.fromEntries(
      STATIONS.flatMap((station) => [
        [`say-${station}`, operation('send', station, `The door of ${station} says what it saw.`)],
        [`hear-${station}`, operation('receive', station, 'Genealogy takes in what was said.')],
      ]),
    ),
    components: {
      messages: Object.fromEntries(types.map((type) => [type.type, message(type)])),
    },
  }
}

function channel(station: string, types: readonly EventType[]): JsonObject {
  const said = types.filter((type) => type.station === station)
  return {
    address: station,
    title: `What the station ${station} says`,
    messages: Object.fromEntries(
      said.map(({ type }) => [type, { $ref: `#/components/messages/${type}` }]),
    ),
    bindings: {
      kafka: {
        topicConfiguration: {
          'cleanup.policy': ['delete'],
          'retention.ms': -1,
          'retention.bytes': -1,
        },
        bindingVersion: BINDING,
      },
    },
  }
}

function operation(action: 'send' | 'receive', station: string, summary: string): JsonObject {
  return { action, summary, channel: { $ref: `#/channels/${station}` } }
}

function message({ type, means }: EventType): JsonObject {
  return {
    name: type,
    title: type,
    summary: means,
    contentType: CLOUDEVENT,
    payload: { $ref: `./events/${type}.json` },
    bindings: {
      kafka: {
        key: { type: 'string', description: 'The source of the event.' },
        bindingVersion: BINDING,
      },
    },
  }
}
