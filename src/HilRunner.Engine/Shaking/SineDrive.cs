using HilRunner.Core.Shakers;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Shaking;

/// <summary>Brings a table from level to level, softly: in steps that the gate lets through, and from one frequency to another by way of rest.</summary>
public sealed class SineDrive(ShakerSession session, Envelope envelope, HostClock clock)
{
    /// <summary>From one step of a ramp to the next.</summary>
    private static readonly TimeSpan s_step = TimeSpan.FromMilliseconds(50);
    /// <summary>Of what the gate would let through: the host's timers are not exact.</summary>
    private const double Share = 0.8;
    /// <summary>Of the lowest level: so much is told apart from noise.</summary>
    private const double CalibratedShare = 0.7;
    private const double MostGain = 1.1;
    /// <summary>Taking a step up adds to it.</summary>
    private const double MostOfEnvelope = 0.5;
    private const int Readings = 10;
    private static readonly TimeSpan s_lowLevel = TimeSpan.FromSeconds(1);

    /// <summary>The first motion: as low as a first one is, and never above the highest that is to come.</summary>
    public static SineMotion First(SineMotion highest) =>
        highest with { PeakG = Math.Min(highest.PeakG, FirstLevel.Of(highest.PeakG)) };

    /// <summary>How long a change of level takes.</summary>
    public static TimeSpan RampTime(Envelope envelope, double fromG, double toG)
    {
        ArgumentNullException.ThrowIfNull(envelope);
        return s_step * (1 + Math.Ceiling(Math.Abs(toG - fromG) / (envelope.RampGPerS * s_step.TotalSeconds * Share)));
    }

    /// <summary>Ramps to a motion.</summary>
    /// <exception cref="ShakerException">The table was stopped.</exception>
    /// <exception cref="OperationCanceledException">It is on its way there; whoever called brings it to rest.</exception>
    public async Task GoToAsync(SineMotion target, CancellationToken stop)
    {
        if (envelope.Refuses(target) is { } outside) { throw new ShakerException($"not begun: {outside}"); }
        if (session.Commanded.Hz != target.Hz)
        {
            await RampAsync(session.Commanded with { PeakG = 0 }, stop).ConfigureAwait(false);
            await Task.Delay(s_step, clock.Provider, stop).ConfigureAwait(false);
        }
        await RampAsync(target, stop).ConfigureAwait(false);
    }

    /// <summary>Down to nothing, then the stop: whatever fails on the way, the stop is sent.</summary>
    /// <exception cref="ShakerException">It is not known to be at rest.</exception>
    public async Task RestAsync()
    {
        try { if (session.Tripped is null && session.Commanded.PeakG > 0) { await RampAsync(session.Commanded with { PeakG = 0 }, CancellationToken.None).ConfigureAwait(false); } }
        catch (ShakerException) { }
        session.Stop();
    }

    /// <summary>
    /// The first motion, at a tenth of the highest level: until it has been measured, the gain of what lies between command and table is not known.
    /// </summary>
    /// <param name="highest">The highest level that is to come.</param>
    /// <returns>What the table measured over what it was told; of volts, whose gain is measured first, too.</returns>
    /// <exception cref="ShakerException">Nothing is measured, or it moves half as much, or half as much again: it was stopped.</exception>
    public async Task<double> MeasureGainAsync(SineMotion highest, CancellationToken stop)
    {
        if (session.IsGainUnknown) { await CalibrateAsync(highest, stop).ConfigureAwait(false); }
        var low = First(highest);
        await GoToAsync(low, stop).ConfigureAwait(false);
        double gain = await MeasuredAsync(stop).ConfigureAwait(false) / low.PeakG;
        if (gain is >= 0.5 and <= 1.5) { return gain; }
        await RestAsync().ConfigureAwait(false);
        throw new ShakerException(FormattableString.Invariant($"the table moves with {gain:0.##} times what it is told at {low.PeakG:0.###} g and {low.Hz:0.##} Hz, expected 0.5 to 1.5: it was stopped; is the amplifier's gain set as the rig file says, and the device fixed?"));
    }

    /// <summary>
    /// Volts, by an amplifier whose gain nobody knows: told as if it were the highest that it has, so that the table makes at most what it is told, and louder step by step until the reference feels it.
    /// </summary>
    private async Task CalibrateAsync(SineMotion highest, CancellationToken stop)
    {
        double told = FirstLevel.LowestG, most = envelope.MostG(highest.Hz) * MostOfEnvelope, measured;
        while (true)
        {
            await GoToAsync(highest with { PeakG = told }, stop).ConfigureAwait(false);
            measured = await MeasuredAsync(stop).ConfigureAwait(false);
            if (measured >= FirstLevel.LowestG * CalibratedShare || told >= most) { break; }
            told = Math.Min(most, told * 2);
        }
        await GoToAsync(session.Commanded with { PeakG = 0 }, stop).ConfigureAwait(false);
        if (measured < FirstLevel.LowestG * CalibratedShare) { throw session.StopFor(FormattableString.Invariant($"told {told:0.###} g at the highest gain, the reference feels {measured:0.###} g: is the amplifier on, and the sensor fixed to the table?")); }
        if (measured > told * MostGain) { throw session.StopFor(FormattableString.Invariant($"told {told:0.###} g at the highest gain, the reference feels {measured:0.###} g: most_g_per_volt is too low, or the reference's g_per_unit too high")); }
        session.Calibrate(Math.Min(1, measured / told));
    }

    /// <summary>The mean of several readings once it has settled: at a low level each has as much noise as a tenth of it.</summary>
    private async Task<double> MeasuredAsync(CancellationToken stop)
    {
        await Task.Delay(session.Settles, clock.Provider, stop).ConfigureAwait(false);
        double sum = 0;
        for (int i = 0; i < Readings; i++)
        {
            await Task.Delay(s_lowLevel / Readings, clock.Provider, stop).ConfigureAwait(false);
            if (session.Tripped is { } tripped) { throw tripped; }
            sum += session.Status().PeakG;
        }
        return sum / Readings;
    }

    private async Task RampAsync(SineMotion target, CancellationToken stop)
    {
        HostTime last = clock.Now;
        // A change of frequency is a command of its own, at rest.
        if (session.Commanded.Hz != target.Hz) { session.Move(target with { PeakG = 0 }); }
        while (session.Commanded.PeakG != target.PeakG)
        {
            await Task.Delay(s_step, clock.Provider, stop).ConfigureAwait(false);
            double most = envelope.RampGPerS * Math.Min((clock.Now - last) / 1e9, s_step.TotalSeconds) * Share, now = session.Commanded.PeakG;
            last = clock.Now;
            session.Move(target with { PeakG = now < target.PeakG ? Math.Min(target.PeakG, now + most) : Math.Max(target.PeakG, now - most) });
        }
    }
}
