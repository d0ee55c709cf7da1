// The magnifier: what lies under a place of the picture, several times as large, with a cross in its middle.

const SIDE = 132; // CSS px
const AWAY = 22; // from the pointer

export const makeLens = (canvas, image, colours) => {
  const scale = Math.min(window.devicePixelRatio || 1, 2);
  canvas.width = canvas.height = SIDE * scale;
  const pen = canvas.getContext("2d");

  const hide = () => { canvas.hidden = true; };

  // `at` in pixels of the picture; `where` on the stage, which is `wide` and `high`; `view` pixels of screen for one.
  const show = (at, where, { wide, high }, view) => {
    const grow = Math.max(3, 3 * view);
    const seen = SIDE / grow;
    pen.setTransform(scale, 0, 0, scale, 0, 0);
    pen.fillStyle = colours.paper;
    pen.fillRect(0, 0, SIDE, SIDE);
    pen.imageSmoothingEnabled = grow < 6;
    pen.drawImage(image, at[0] - seen / 2, at[1] - seen / 2, seen, seen, 0, 0, SIDE, SIDE);
    for (const [width, colour] of [[3, colours.sheet], [1, colours.ink]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.beginPath();
      for (const [x, y] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        pen.moveTo(SIDE / 2 + 4 * x, SIDE / 2 + 4 * y);
        pen.lineTo(SIDE / 2 + 40 * x, SIDE / 2 + 40 * y);
      }
      pen.stroke();
    }
    // Above and left of the pointer, so that neither hand nor finger lies over it; where there is no room, across.
    const left = where[0] - SIDE - AWAY >= 0 ? where[0] - SIDE - AWAY : Math.min(where[0] + AWAY, wide - SIDE);
    const top = where[1] - SIDE - AWAY >= 0 ? where[1] - SIDE - AWAY : Math.min(where[1] + AWAY, high - SIDE);
    canvas.style.transform = `translate(${Math.max(0, left)}px, ${Math.max(0, top)}px)`;
    canvas.hidden = false;
  };
  return { show, hide };
};
