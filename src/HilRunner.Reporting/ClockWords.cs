using HilRunner.Core.Runs;

namespace HilRunner.Reporting;

/// <summary>The device's clock in words, for pages and the terminal.</summary>
public static class ClockWords
{
    /// <summary>"12.4 ± 0.8 ppm slow"; "—" where no rate is known.</summary>
    public static string Rate(DeviceHealth device)
    {
        ArgumentNullException.ThrowIfNull(device);
        if (device.ClockPpm is not { } ppm) { return Figure.Absent; }
        string size = Figure.With(Math.Abs(ppm), device.ClockPpmUncertainty, "ppm");
        // Where zero lies inside the bound, nobody knows which way it is off.
        if (Math.Abs(ppm) <= device.ClockPpmUncertainty) { return Figure.With(ppm, device.ClockPpmUncertainty, "ppm") + " (no difference shown)"; }
        return size + (ppm < 0 ? " slow" : ppm > 0 ? " fast" : "");
    }

    /// <summary>How often the clock began anew, after the start.</summary>
    public static string Epochs(int epochs) => epochs switch
    {
        <= 1 => "never",
        2 => "once",
        _ => FormattableString.Invariant($"{epochs - 1} times"),
    };
}
