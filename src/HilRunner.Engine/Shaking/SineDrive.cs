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
    /// <summary>
    /// What a table makes of a sine, over what it is told. Less is a wrong gain; more no resonance reaches that is of use.
    /// </summary>
    private const double LeastGain = 0.5, MostGainOfASine = 25;
    /// <summary>
    /// Told before the lowest level that can be measured, in g: only where a resonance makes it several times as high is it felt,
    /// and then the lowest level would be too high.
    /// </summary>
    private const double FeelerG = FirstLevel.LowestG / 5;

    // By frequency, in Hz: what the table makes over what it is told.
    private readonly Dictionary<double, double> _gains = [];

    /// <summary>What the table makes of a frequency is known.</summary>
    public bool Knows(double hz) => _gains.ContainsKey(hz);

    /// <summary>What was measured at a frequency while so much was wanted: later levels there are told accordingly.</summary>
    public void Learn(double hz, double wantedG, double measuredG)
    {
        if (_gains.TryGetValue(hz, out double gain) && wantedG >= FirstLevel.LowestG && measuredG > 0)
        {
            _gains[hz] = Math.Clamp(gain * measuredG / wantedG, LeastGain, MostGainOfASine);
        }
    }

    /// <summary>How long measuring the gain at a frequency takes, before a level there.</summary>
    public TimeSpan LearningTime(SineMotion highest)
    {
        var time = TimeSpan.Zero;
        double before = 0;
        foreach (double level in FirstLevel.Steps(highest.PeakG).Prepend(FeelerG))
        {
            time += RampTime(envelope, before, level) + session.Settles + s_lowLevel;
            before = level;
        }
        return time;
    }

    /// <summary>How long a change of level takes.</summary>
    public static TimeSpan RampTime(Envelope envelope, double fromG, double toG)
    {
        ArgumentNullException.ThrowIfNull(envelope);
        return s_step * (1 + Math.Ceiling(Math.Abs(toG - fromG) / (envelope.RampGPerS * s_step.TotalSeconds * Share)));
    }

    /// <summary>Ramps to a motion: the table is told what makes it, as far as that is known and inside the envelope.</summary>
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
    /// The first motion at a frequency, in steps from the lowest level that can be measured to a tenth of the highest: until it
    /// has been measured, the gain of what lies between command and table is not known, and a resonance may make it many times as
    /// high. So a fifth of the lowest comes first. At its end the table moves, and what it makes of what it is told is known.
    /// </summary>
    /// <param name="highest">The highest level that is to come.</param>
    /// <returns>What the table measured over what it was told; of volts, whose gain is measured first, too.</returns>
    /// <exception cref="ShakerException">
    /// It moves with less than half of what it is told, with many times as much, or with more than the highest level: it was
    /// stopped.
    /// </exception>
    public async Task<double> MeasureGainAsync(SineMotion highest, CancellationToken stop)
    {
        if (session.IsGainUnknown) { await CalibrateAsync(highest, stop).ConfigureAwait(false); }
        double gain = 1;
        session.Learns(highest.PeakG);
        await GoToAsync(highest with { PeakG = FeelerG }, stop).ConfigureAwait(false);
        double felt = await MeasuredAsync(stop).ConfigureAwait(false);
        if (felt >= FirstLevel.LowestG * CalibratedShare) { _gains[highest.Hz] = Math.Min(felt / FeelerG, MostGainOfASine); }
        foreach (double level in FirstLevel.Steps(highest.PeakG))
        {
            var low = highest with { PeakG = Math.Min(level, highest.PeakG) };
            await GoToAsync(low, stop).ConfigureAwait(false);
            gain = Gain(low.Hz) * await MeasuredAsync(stop).ConfigureAwait(false) / low.PeakG;
            if (gain is not (>= LeastGain and <= MostGainOfASine))
            {
                await RestAsync().ConfigureAwait(false);
                throw new ShakerException(FormattableString.Invariant($"the table moves with {gain:0.##} times what it is told at {low.PeakG:0.###} g and {low.Hz:0.##} Hz, expected {LeastGain} to {MostGainOfASine}: it was stopped; is the amplifier's gain set as the rig file says, and the device fixed?"));
            }
            _gains[low.Hz] = gain;
        }
        // What it is told now is known to make what was measured: no more is wanted, and no less.
        session.Move(session.Commanded, gain);
        session.Learns(0);
        return gain;
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

    private double Gain(double hz) => _gains.GetValueOrDefault(hz, 1);

    private async Task RampAsync(SineMotion wanted, CancellationToken stop)
    {
        double gain = Gain(wanted.Hz);
        var target = wanted with { PeakG = Math.Min(wanted.PeakG / gain, envelope.MostG(wanted.Hz)) };
        HostTime last = clock.Now;
        // A change of frequency is a command of its own, at rest.
        if (session.Commanded.Hz != target.Hz) { session.Move(target with { PeakG = 0 }, gain); }
        while (session.Commanded.PeakG != target.PeakG)
        {
            await Task.Delay(s_step, clock.Provider, stop).ConfigureAwait(false);
            double most = envelope.RampGPerS * Math.Min((clock.Now - last) / 1e9, s_step.TotalSeconds) * Share, now = session.Commanded.PeakG;
            last = clock.Now;
            session.Move(target with { PeakG = now < target.PeakG ? Math.Min(target.PeakG, now + most)
                : Math.Max(target.PeakG, now - most) }, gain);
        }
    }
}
