/**
 * Files out of what was dropped or chosen, folders walked through.
 */

const PICTURE = /\.(jpe?g|png|heic|heif|webp)$/i;

/** @param {File} file @returns {boolean} whether it may be a picture */
export function mayBePicture(file) {
  return file.type.startsWith("image/") || PICTURE.test(file.name);
}

/**
 * What a folder holds beside pictures is left out, what was chosen one by one is not.
 *
 * @param {File[]} files
 * @returns {{pictures: File[], leftOut: number}}
 */
export function onlyPictures(files) {
  const pictures = files.filter((file) => !file.name.startsWith(".") && mayBePicture(file));
  return { pictures, leftOut: files.length - pictures.length };
}

/**
 * @param {DataTransfer} dropped
 * @returns {Promise<{pictures: File[], leftOut: number}>}
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
      const inside = onlyPictures(await walk(/** @type {FileSystemDirectoryEntry} */ (entry)));
      found.push(...inside.pictures);
      leftOut += inside.leftOut;
    }
  }
  return { pictures: found, leftOut };
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
