using System.Numerics;

namespace HilRunner.Core.Shakers;

/// <summary>
/// Whether a table made what it was told: its level in every octave that matters and in every second within the tolerance. A table that did not says nothing about the device.
/// </summary>
/// <param name="Bands">What was told, and what was measured of it.</param>
/// <param name="OffBands">Those outside the tolerance.</param>
/// <param name="Off">Stretches of the run, in s, outside the tolerance.</param>
/// <param name="ErrorG">rms of the difference, position by position.</param>
/// <param name="Response">Null: too short for one.</param>
/// <param name="Faults">Why the run cannot be held against the device; empty: it can.</param>
public sealed record TableOutcome(IReadOnlyList<BandLoss> Bands, IReadOnlyList<BandLoss> OffBands, IReadOnlyList<LostStretch> Off, double ToldG, double MeasuredG, double ErrorG, TableResponse? Response, IReadOnlyList<string> Faults)
{
    /// <summary>Of the control point, IEC 60068-2-6 (from memory).</summary>
    public const double Tolerance = 0.15;
    /// <summary>Added to the tolerance: a table's own noise.</summary>
    public const double NoiseG = 0.01;
    /// <summary>The tolerance with its floor, as it is said everywhere.</summary>
    public static string Words { get; } = FormattableString.Invariant($"±({Tolerance * 100:0} % + {NoiseG * 1000:0} mg)");

    /// <summary>Reaction times are known no better than that.</summary>
    public const double MostLateS = 0.02;
    /// <summary>A band with less of the power is not judged alone.</summary>
    private const double LeastShare = 0.01;
    /// <summary>About two seconds.</summary>
    public static int WindowFor(double rateHz) => (int)BitOperations.RoundUpToPowerOf2((uint)Math.Max(8, 2 * rateHz));

    /// <param name="begins">Of the first of them, in s on the run's axis.</param>
    public static TableOutcome Of(TableRecord record, double begins, ReadOnlySpan<double> told, ReadOnlySpan<double> measured)
    {
        ArgumentNullException.ThrowIfNull(record);
        List<string> faults = record.Fault is { } fault ? [fault] : [];
        if (record.LateS is { } late && late > MostLateS) { faults.Add(FormattableString.Invariant($"the table began {late * 1000:0} ms later than the run's time says, more than {MostLateS * 1000:0} ms")); }
        if (told.IsEmpty || measured.ContainsAny(double.NaN, double.PositiveInfinity, double.NegativeInfinity))
        {
            if (faults.Count == 0) { faults.Add("the table did not say what it measured: whether it made the motion is not known"); }
            return new([], [], [], 0, 0, 0, null, faults);
        }
        var loss = MotionLoss.Of(told, measured, new((long)Math.Round(record.RateHz * 1000)), record.FromHz, record.ToHz);
        BandLoss[] off = [.. loss.Bands.Where(b => b.WantedG * b.WantedG >= LeastShare * loss.WantedG * loss.WantedG && IsOff(b.WantedG, b.MadeG))];
        var seconds = new List<LostStretch>();
        int second = Math.Max(1, (int)Math.Round(record.RateHz));
        for (int start = 0; start < told.Length; start += second)
        {
            int end = Math.Min(told.Length, start + second);
            if (!IsOff(MotionLoss.Rms(told[start..end]), MotionLoss.Rms(measured[start..end]))) { continue; }
            double from = begins + start / record.RateHz, to = begins + end / record.RateHz;
            if (seconds.Count > 0 && Math.Abs(seconds[^1].ToS - from) < 1e-6) { seconds[^1] = seconds[^1] with { ToS = to }; } else { seconds.Add(new(from, to)); }
        }
        if (faults.Count == 0)
        {
            faults.AddRange(off.Select(b =>
                FormattableString.Invariant($"the table made {b.MadeG:0.####} g of {b.WantedG:0.####} g between {b.FromHz:0.##} Hz and {b.ToHz:0.##} Hz, outside {Words}")));
            if (seconds.Count > 0) { faults.Add(FormattableString.Invariant($"the table was outside {Words} of what it was told for {seconds.Sum(s => s.ToS - s.FromS):0.#} s, first from {seconds[0].FromS:0.#} s to {seconds[0].ToS:0.#} s")); }
        }
        return new(loss.Bands, off, seconds, loss.WantedG, loss.MadeG, loss.ErrorG, TableResponse.Of(told, measured, record.RateHz, WindowFor(record.RateHz)), faults);
    }

    /// <summary>Whether a level is farther from what was told than the tolerance and its floor allow; both in g.</summary>
    public static bool IsOff(double told, double made) => !(Math.Abs(made - told) <= Tolerance * told + NoiseG);
}
