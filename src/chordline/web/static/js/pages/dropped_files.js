/**
 * Files out of what was dropped or chosen, folders walked through.
 */

import { likelyKind } from "./file_kind.js";

/** @typedef {{files: File[], leftOut: number}} Found */

/**
 * What a folder holds beside pictures and videos is left out, what was chosen one by one is not.
 *
 * @param {File[]} all
 * @returns {Found}
 */
export function onlyMeasurable(all) {
  const files = all.filter((file) => !file.name.startsWith(".") && likelyKind(file) !== null);
  return { files, leftOut: all.length - files.length };
}

/**
 * @param {DataTransfer} dropped
 * @returns {Promise<Found>}
 */
export async function filesOf(dropped) {
  // The list is emptied as soon as this turn ends: take everything out of it first.
  const items = [...dropped.items].filter((item) => item.kind === "file");
  const entries = items.map((item) => item.webkitGetAsEntry?.() ?? item.getAsFile());
  const found = /** @type {File[]} */ ([]);
  let leftOut = 0;
  for (const entry of entries) {
    if (entry === null) continue;
    if (entry instanceof File) found.push(entry);
    else if (entry.isFile) found.push(await fileOf(/** @type {FileSystemFileEntry} */ (entry)));
    else {
      const inside = onlyMeasurable(await walk(/** @type {FileSystemDirectoryEntry} */ (entry)));
      found.push(...inside.files);
      leftOut += inside.leftOut;
    }
  }
  return { files: found, leftOut };
}

/** @param {FileSystemDirectoryEntry} folder @returns {Promise<File[]>} */
async function walk(folder) {
  const reader = folder.createReader();
  const files = /** @type {File[]} */ ([]);
  for (;;) {
    // A reader gives at most a hundred at once and an empty list at the end.
    const entries = await new Promise((done, failed) => reader.readEntries(done, failed));
    if (entries.length === 0) return files;
    for (const entry of entries) {
      if (entry.isFile) files.push(await fileOf(entry));
      else files.push(...(await walk(entry)));
    }
  }
}

/** @param {FileSystemFileEntry} entry @returns {Promise<File>} */
function fileOf(entry) {
  return new Promise((done, failed) => entry.file(done, failed));
}
