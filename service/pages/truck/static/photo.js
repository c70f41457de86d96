// A photo small enough to wait on a phone and to go out over a poor link; nothing of where and when it
// was taken is drawn along.

const LONGEST_SIDE = 1280;
const QUALITIES = [0.7, 0.5, 0.3];
const MOST_BYTES = 600_000;

export async function smaller(file) {
  const picture = await createImageBitmap(file);
  const scale = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(picture.width * scale);
  canvas.height = Math.round(picture.height * scale);
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  let made = null;
  for (const quality of QUALITIES) {
    made = await new Promise((resolve) => { canvas.toBlob(resolve, "image/jpeg", quality); });
    if (made.size <= MOST_BYTES) break;
  }
  return made;
}
