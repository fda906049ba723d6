using System.Numerics;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Shaking;

/// <summary>
/// What a table makes of positions, learnt at low levels: it begins where a sensor just tells motion from noise, and climbs in
/// steps, each told the inverse of what the one before has shown. So a resonance in its band is never excited at a high level
/// before it is known.
/// </summary>
/// <param name="Gain">rms of what the lowest level made over what it was told; null: the controller does not say what it
/// measures.</param>
/// <param name="Response">By frequency in Hz; null: not known.</param>
/// <param name="Words">For the person who is asked to let it go on.</param>
public sealed record StreamLearning(double? Gain, Func<double, Complex>? Response, string Words)
{
    /// <summary>Of the lowest level at least, and of a level that was told the inverse at most, over what was wanted.</summary>
    private const double LeastGain = 0.5, MostGain = 1.5;

    /// <param name="highestG">The highest level that is to come.</param>
    /// <param name="mostG">The most that is to come, in g rms, as <see cref="MotionWatch.MostOf"/> gives it: no step passes
    /// it.</param>
    /// <param name="tell">Told what moves, before each step.</param>
    /// <exception cref="ShakerException">There is no measuring motion inside the envelope, or the table does something else: it
    /// was stopped.</exception>
    /// <exception cref="OperationCanceledException">It is moving; whoever called brings it to rest.</exception>
    public static async Task<StreamLearning> LearnAsync(ShakerSession session, StreamDrive drive, Envelope envelope,
        SampleRate positions, double highestG, double mostG, Action<string> tell,
        CancellationToken stop)
    {
        ArgumentNullException.ThrowIfNull(session);
        ArgumentNullException.ThrowIfNull(drive);
        ArgumentNullException.ThrowIfNull(tell);
        var learnt = new StreamLearning(null, null, "it does not say what it measures: nothing of its gain is known");
        foreach (double level in FirstLevel.Steps(highestG))
        {
            var low = MotionBuilder.LowLevel(envelope, positions, level);
            if (low.Outside is { } why) { throw new ShakerException($"there is no measuring motion inside the envelope: {why}"); }
            var inverse = learnt.Response is { } known ? MotionBuilder.LowLevel(envelope, positions, level, known) : low;
            bool isInverse = learnt.Response is not null && inverse.Outside is null
                && inverse.Motion.Nm.Count == low.Motion.Nm.Count;
            var sent = isInverse ? inverse.Motion : low.Motion;
            double[] wanted = low.Motion.ToldG();
            tell(FormattableString.Invariant($"the table moves at {level:0.###} g for {sent.Length.TotalSeconds:0} s"));
            double[] measured = await drive.PlayAsync(new(sent, wanted, mostG), null, null, stop).ConfigureAwait(false);
            if (measured.Length != wanted.Length || Array.Exists(measured, g => !double.IsFinite(g))) { return learnt; }
            double made = MotionLoss.Rms(measured) / MotionLoss.Rms(wanted);
            if (made < LeastGain || (isInverse && made > MostGain))
            {
                throw session.StopFor(FormattableString.Invariant(
                    $"the first motion, at {level:0.###} g, measured {made:0.00} times what was wanted, expected {LeastGain} to {MostGain}: is the amplifier's gain set as the rig file says, and the device fixed?"));
            }
            // Four seconds: a resonance is as narrow as its frequency over its Q.
            double rateHz = sent.Rate.Hertz, gain = learnt.Gain ?? made;
            var response = TableResponse.Of(sent.ToldG(), measured, rateHz, 2 * TableOutcome.WindowFor(rateHz))?.Known();
            string words = FormattableString.Invariant($"it made {gain:0.00} times what it was told")
                + (isInverse ? FormattableString.Invariant($", and {made:0.00} times what was wanted once that was known") : "")
                + (response is null ? "" : "; what it makes of each frequency is known");
            learnt = new(gain, response ?? learnt.Response, words);
        }
        return learnt;
    }
}
