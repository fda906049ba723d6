namespace HilRunner.Transport.Framing;

/// <summary>
/// Where every received byte went: <c>BytesInFrames + BytesDiscarded + BytesIdle + pending</c> is what was fed.
/// </summary>
/// <param name="Frames">Frames handed over.</param>
/// <param name="FramesBad">Damaged, cut off or over-long frames; a stretch of garbage counts at least once.</param>
/// <param name="BytesInFrames">Bytes of frames handed over, delimiters included.</param>
/// <param name="BytesDiscarded">Bytes of bad frames and garbage.</param>
/// <param name="BytesIdle">Delimiters with nothing before them: empty lines, fill between frames.</param>
public readonly record struct FrameCounts(long Frames, long FramesBad, long BytesInFrames, long BytesDiscarded, long BytesIdle);
