using HilRunner.Core.Runs;

namespace HilRunner.Scoring.Limits;

/// <summary>How far the device's clock runs from the host's: |rate| in ppm, fast or slow alike.</summary>
internal static class ClockFigure
{
    public static Figure Of(DeviceHealth device, RunTiming? timing)
    {
        if (device.ClockPpm is not { } ppm)
        {
            return Figure.Undefined(timing is null or { Exchanges: 0 }
                ? "the device's clock was not compared with the host's"
                : $"{timing.Exchanges} comparisons of the device's clock with the host's give no rate");
        }
        // A rate alone proves nothing: what was fitted over a short run may be off by more than any limit.
        if (device.ClockPpmUncertainty is not { } u) { return Figure.Undefined("the uncertainty of the device's clock rate is not known"); }
        double size = Math.Abs(ppm);
        return new(size, Math.Max(0, size - u), size + u, ppm < 0 ? "slow" : ppm > 0 ? "fast" : "");
    }
}
