/** The queue: looking starts anew here. */

import { forgetTrail } from "./trail.js";

forgetTrail();
