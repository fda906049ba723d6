using HilRunner.Core.Numerics;
using HilRunner.Core.Time;

namespace HilRunner.Core.Shakers;

/// <summary>Where a table is told to be, position after position; it begins and ends at rest in the middle.</summary>
/// <param name="Rate">Positions a second.</param>
/// <param name="Nm">In nm from the middle.</param>
/// <param name="Lead">Positions before time 0 of what is played: a run-in that rises softly.</param>
public sealed record TableMotion(SampleRate Rate, IReadOnlyList<long> Nm, int Lead)
{
    public TimeSpan Length => TimeSpan.FromTicks(Rate.TimeOf(Nm.Count).Ns / 100);

    public TimeSpan LeadTime => TimeSpan.FromTicks(Rate.TimeOf(Lead).Ns / 100);

    /// <summary>What it is told to make, in g, position by position: second differences of the positions.</summary>
    public double[] ToldG()
    {
        double scale = Rate.Hertz * Rate.Hertz / 1e9 / Gravity.Standard;
        var told = new double[Nm.Count];
        for (int k = 0; k < told.Length; k++) { told[k] = scale * ((k + 1 < told.Length ? Nm[k + 1] : 0) - 2 * Nm[k] + (k > 0 ? Nm[k - 1] : 0)); }
        return told;
    }

    /// <summary>What it is told to make at a moment, in s from time 0 of what is played, in g; 0 outside of it.</summary>
    /// <param name="told">As <see cref="ToldG"/> gives it.</param>
    public double ToldAt(double[] told, double s)
    {
        ArgumentNullException.ThrowIfNull(told);
        double place = Lead + s * Rate.Hertz;
        int k = (int)Math.Floor(place);
        return k < 0 || k + 1 >= told.Length ? 0 : told[k] + (place - k) * (told[k + 1] - told[k]);
    }

    /// <summary>The first position that must not be sent, and why; null: all of it is inside the envelope, and it ends at rest.</summary>
    public (double AtS, string Why)? Refused(Envelope envelope)
    {
        ArgumentNullException.ThrowIfNull(envelope);
        if (Rate.Hertz < StreamGate.RatePerHz * envelope.ToHz) { return (0, FormattableString.Invariant($"{Rate.Hertz:0.###} positions a second, fewer than {StreamGate.RatePerHz} for each of {envelope.ToHz:0.###} Hz")); }
        if (Length > envelope.Longest) { return (0, FormattableString.Invariant($"{Length.TotalSeconds:0.#} s of motion, longer than {envelope.Longest.TotalSeconds:0.#} s")); }
        var gate = new StreamGate(envelope, Rate.Hertz);
        var back = new StreamGate(envelope, Rate.Hertz);
        for (int k = 0; k < Nm.Count; k++)
        {
            if (gate.Refuses(Nm[k]) is { } why) { return ((k - Lead) / Rate.Hertz, why); }
        }
        // Backwards, since it must fall as softly as it rises.
        for (int k = Nm.Count - 1; k >= 0; k--)
        {
            if (back.Refuses(Nm[k]) is { } why) { return ((k - Lead) / Rate.Hertz, $"towards its end: {why}"); }
        }
        return gate.IsAtRest && back.IsAtRest ? null : (Length.TotalSeconds, "it does not end at rest in the middle");
    }
}
