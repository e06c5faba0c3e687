"""Cut files: the shots in cut order, from OpenTimelineIO and EDL."""
