import { expect, test } from 'vitest'
import { traceIn, traceOf } from '../../services/watch/trace.ts'

// The examples and the rules are those of https://www.w3.org/TR/trace-context/, section 3.2.
const TRACE = '4bf92f3577b34da6a3ce929d0e0e4736'
const PARENT = '00f067aa0ba902b7'

test('a trace is read from the header', () => {
  const trace = { traceId: TRACE, parentId: PARENT }
  expect(traceOf(`00-${TRACE}-${PARENT}-01`)).toEqual(trace)
  expect(traceOf(`cc-${TRACE}-${PARENT}-01-what-the-future-brings`)).toEqual(trace)
})

test.each([
  ['none', undefined],
  ['two headers', [`00-${TRACE}-${PARENT}-01`]],
  ['the forbidden version', `ff-${TRACE}-${PARENT}-01`],
  ['a trace of zeros', `00-${'0'.repeat(32)}-${PARENT}-01`],
  ['a parent of zeros', `00-${TRACE}-${'0'.repeat(16)}-01`],
  ['capital letters', `00-${TRACE.toUpperCase()}-${PARENT}-01`],
  ['more than this version has', `00-${TRACE}-${PARENT}-01-x`],
  ['too short', `00-${TRACE.slice(1)}-${PARENT}-01`],
])('%s is no trace', (_, header) => {
  expect(traceOf(header)).toBeUndefined()
})

test('the trace of an event is found in its bytes, even when they are torn', () => {
  const bytes = Buffer.from(`{"id":"1","traceparent": "00-${TRACE}-${PARENT}-01","data":{"kg`)
  expect(traceIn(bytes)?.traceId).toBe(TRACE)
  expect(traceIn(Buffer.from('{"traceparent":7}'))).toBeUndefined()
  expect(traceIn(Buffer.from([0xff, 0x00]))).toBeUndefined()
})
