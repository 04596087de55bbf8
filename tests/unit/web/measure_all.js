/** Measures every body of the shared vectors with the editor's modules; for node and for browsers. */

/**
 * @param {any} vectors tests/data/measure_vectors.json
 * @param {string} base address of the folder `js`, with a slash at its end
 */
export async function measureAll(vectors, base) {
  const load = (path) => import(base + path);
  const { makeBody, frontWord } = await load("geometry/body.js");
  const { createReader } = await load("geometry/reading.js");
  const { systematicErrors } = await load("geometry/systematic.js");
  const { createModelling } = await load("editor/model.js");
  const { withError } = await load("editor/wording.js");
  const { words, tests } = vectors;
  return vectors.cases.map(({ test: id, landmarks, facing, frame, view, near_side, front }) => {
    const test = tests[id];
    const body = makeBody({ landmarks, facing, chord: test.chord, frame });
    const sdPx = Object.fromEntries(Object.entries(landmarks).map(([name, mark]) => [name, mark.sd_px]));
    const reading = createReader()(body, sdPx, test.measures);
    const systematic = systematicErrors(body, view, Object.keys(reading));
    const model = createModelling({ test, words, frame, view, front })({ landmarks, nearSide: near_side });
    const { hip, shoulder } = body.points;
    return {
      names: Object.keys(reading),
      reading,
      systematic,
      front: frontWord({ x: shoulder.x - hip.x, y: shoulder.y - hip.y }, facing),
      headline: model.headline,
      lines: Object.fromEntries(
        model.lines.map((line) => [
          line.name,
          {
            label: line.label,
            words: line.words,
            verdict: line.verdict,
            number: withError(line.value, line.plusMinus, line.unit),
          },
        ]),
      ),
      missing: model.missing,
    };
  });
}
