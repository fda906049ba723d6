using System.Globalization;
using HilRunner.Core.Links;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;
using HilRunner.Engine.Shaking;

namespace HilRunner.Engine.Tests.Shaking.Plant;

/// <summary>
/// One session with a table that nobody described, and what is not as it must be; every choice follows from its seed.
/// </summary>
internal sealed class PlantSession : IDisposable
{
    // Set before the first session was played: what the plant makes may pass what is wanted by the tolerance of a table, and a
    // stop is sent so late at most; an ordinary machine holds a thread up for a while.
    private const double OverShare = 0.15, OverG = 0.05, OverJerk = 0.3, HostS = 0.1;

    private static readonly Envelope s_envelope = new()
    {
        Displacement = 0.01, Velocity = 0.5, PeakG = 2, Jerk = 2000, RampGPerS = 1, FromHz = 2, ToHz = 100,
        Longest = TimeSpan.FromMinutes(5), Rest = TimeSpan.FromSeconds(1),
    };

    private static readonly SampleRate s_rate = new(1_000_000);
    private readonly int _seed;
    private readonly Random _random;
    private readonly HostClock _clock;
    private readonly PlantOptions _options;
    private readonly PlantFault _fault;
    private readonly bool _streams;
    private readonly ShakerSession _session;
    private readonly List<string> _wrong = [];
    private string _did = "";

    public PlantSession(int seed, HostClock clock)
    {
        (_seed, _clock, _random) = (seed, clock, new(seed));
        _streams = _random.Next(2) == 0;
        double hz = Math.Exp(Between(Math.Log(2.5), Math.Log(95)));
        _options = new(Between(0.7, 1.3), hz, Between(3, 20), Between(0, 0.01), Between(0.001, 0.004), seed);
        _fault = _random.Next(2) == 0 ? PlantFault.None : (PlantFault)_random.Next(1, 8);
        Plant = new(_options, clock);
        var second = TimeSpan.FromSeconds(1);
        _session = new(new()
        {
            Link = new PtyLinkSpec("/dev/null"), Axis = new('z'), Up = new('z'), Watchdog = second, Answer = second / 2,
                Heartbeat = second / 20,
            Hears = new("id", "arm", "sine {hz} {mm}", "stop", "status"),
            Says = new("^id plant", "^ok", "^no (?<why>.*)$", @"^st (?<state>\w+) (?<mm>\S+) (?<g>\S+)$", new Dictionary<string,
                TableState>
            {
                ["resting"] = TableState.Resting, ["armed"] = TableState.Armed, ["moving"] = TableState.Moving,
                    ["stopping"] = TableState.Stopping, ["interlock"] = TableState.Interlock,
            }),
            Envelope = s_envelope,
            Stream = new(s_rate, 2000, 20, "stream {hz}", "p {mm}", "go", "end", @"^cr (?<n>\d+)(?<g>( -?[\d.]+)*)$"),
        }, _ => Plant, clock, _ => { });
    }

    public TablePlant Plant { get; }

    public void Dispose() => _session.Dispose();

    /// <returns>What is not as it must be; empty: nothing.</returns>
    public async Task<IReadOnlyList<string>> PlayAsync()
    {
        ShakerException? stopped = null;
        try
        {
            _session.Identify();
            _session.Arm();
            await (_streams ? StreamAsync() : SinesAsync()).ConfigureAwait(false);
        }
        catch (ShakerException fault) { stopped = fault; }
        if (_fault == PlantFault.None && stopped is not null) { _wrong.Add($"stopped for nothing: {stopped.Message}"); }
        if (_fault != PlantFault.None && stopped is null) { _wrong.Add("nothing stopped it"); }
        try { _session.Stop(); }
        catch (ShakerException fault) when (_fault is not (PlantFault.NoAnswer or PlantFault.WrongAnswer)) { _wrong.Add(fault.Message); }
        catch (ShakerException) { }
        await Task.Delay(TimeSpan.FromSeconds(RingsS + TablePlant.StopS + 0.2)).ConfigureAwait(false);
        Plant.Look();
        AssertRest();
        return [.. _wrong.Select(w => $"{this}: {w}")];
    }

    public override string ToString() => string.Create(CultureInfo.InvariantCulture,
        $"seed {_seed}: {(_streams ? "stream" : "sines")} {_did}, {_fault}, gain {_options.Gain:0.00}, Q {_options.Q:0.0} at {_options.ResonanceHz:0.0} Hz, delay {_options.DelayS * 1000:0} ms, noise {_options.NoiseG * 1000:0} mg");

    /// <summary>How long it rings after the drive has stopped, to a twentieth: 3Q/(πf).</summary>
    private double RingsS => 3 * _options.Q / (Math.PI * _options.ResonanceHz);

    private double Between(double from, double to) => from + _random.NextDouble() * (to - from);

    private async Task SinesAsync()
    {
        double hz = Math.Exp(Between(Math.Log(5), Math.Log(80))), most = Math.Min(0.6, s_envelope.MostG(hz) * 0.5);
        SineMotion low = new(hz, most * Between(0.3, 0.6)), high = new(hz, most);
        _did = string.Create(CultureInfo.InvariantCulture, $"{hz:0.0} Hz, {low.PeakG:0.00} and {high.PeakG:0.00} g");
        Plant.SaturatedG = 0.2 * low.PeakG;
        var drive = new SineDrive(_session, s_envelope, _clock);
        Plant.Forget();
        await drive.MeasureGainAsync(high, default).ConfigureAwait(false);
        AssertInside(high.PeakG, "while it was learnt");
        int broken = _random.Next(2);
        foreach (var (level, i) in new[] { low, high }.Select((l, i) => (l, i)))
        {
            Plant.Forget();
            await drive.GoToAsync(level, default).ConfigureAwait(false);
            await Task.Delay(TimeSpan.FromSeconds(RingsS + Between(1, 1.5))).ConfigureAwait(false);
            Plant.Look();
            AssertInside(level.PeakG, $"at {level.PeakG:0.00} g");
            if (_fault == PlantFault.None || i != broken) { continue; }
            Plant.Break(_fault);
            await AwaitTripAsync(Math.Max(1, 3 / hz), Math.Max(0.1, 2 / hz)).ConfigureAwait(false);
        }
        Plant.Forget();
        await drive.RestAsync().ConfigureAwait(false);
    }

    private async Task StreamAsync()
    {
        double hz = Math.Exp(Between(Math.Log(5), Math.Log(60))),
            peak = Math.Min(Between(0.15, 0.5), s_envelope.MostG(hz) * 0.4), seconds = 4;
        _did = string.Create(CultureInfo.InvariantCulture, $"{hz:0.0} Hz, {peak:0.00} g");
        var noise = new Random(_seed);
        double[] g = [.. Enumerable.Range(0, (int)(seconds * 1000))
            .Select(k => peak * (0.6 * Math.Sin(2 * Math.PI * hz * k / 1000) + 0.3 * (noise.NextDouble() * 2 - 1)))];
        var built = MotionBuilder.Build(g, s_rate, s_envelope, s_rate, MotionFit.Scale);
        double[] wanted = built.Motion.ToldG();
        double highest = wanted.Max(Math.Abs), most = MotionWatch.MostOf(wanted, 1000);
        Plant.SaturatedG = 0.1 * MotionLoss.Rms(wanted);
        var drive = new StreamDrive(_session, _clock);
        Plant.Forget();
        var learnt = await StreamLearning.LearnAsync(_session, drive, s_envelope, s_rate, highest, most, _ => { }, default)
            .ConfigureAwait(false);
        Plant.Look();
        AssertInside(highest, "while it was learnt");
        double[] scaled = [.. g.Select(x => x * built.Scale)];
        var inverse = MotionBuilder.Build(scaled, s_rate, s_envelope, s_rate, MotionFit.None, learnt.Response);
        bool equalised = learnt.Response is not null && inverse.Motion.Refused(s_envelope) is null
            && inverse.Motion.Nm.Count == wanted.Length;
        if (!equalised && _fault == PlantFault.None)
        {
            _did += $", not equalised ({learnt.Words}; {inverse.Motion.Refused(s_envelope)}; "
                + $"{inverse.Motion.Nm.Count} of {wanted.Length})";
        }
        Plant.Forget();
        var playing = drive.PlayAsync(new(equalised ? inverse.Motion : built.Motion, wanted, equalised ? null : most), null,
            null, default);
        if (_fault != PlantFault.None)
        {
            await Task.Delay(TimeSpan.FromSeconds(Between(2, 3.5))).ConfigureAwait(false);
            Plant.Look();
            AssertInside(highest, "before it broke");
            Plant.Break(_fault);
            await AwaitTripAsync(MotionWatch.SeenS(s_envelope.FromHz) + 0.2, 2 / s_envelope.FromHz).ConfigureAwait(false);
        }
        await playing.ConfigureAwait(false);
        Plant.Look();
        AssertInside(highest, "as it was played");
    }

    /// <summary>Until it was stopped: as late as the fault allows.</summary>
    private async Task AwaitTripAsync(double openS, double exceedingS)
    {
        double limit = HostS + _fault switch
        {
            PlantFault.Runaway => TablePlant.RunawayS + exceedingS,
            PlantFault.DeadSensor or PlantFault.StuckSensor or PlantFault.SaturatedSensor => openS,
            PlantFault.NoAnswer => 0.6,
            _ => 0.15,
        };
        HostTime end = _clock.Now + TimeSpan.FromSeconds(limit + 3);
        while ((_session.Tripped is null || Plant.StoppedAt is null) && _clock.Now < end)
        {
            await Task.Delay(5).ConfigureAwait(false);
        }
        if (_session.Tripped is not { } tripped) { return; }
        double took = (Plant.StoppedAt - Plant.FaultAt) / 1e9 ?? double.PositiveInfinity;
        if (took > limit)
        {
            _wrong.Add(string.Create(CultureInfo.InvariantCulture,
                $"stopped {took:0.000} s after it broke, allowed {limit:0.000} s: {tripped.Message}"));
        }
        throw tripped;
    }

    private void AssertInside(double wantedG, string when)
    {
        var (m, mps, g, jerk) = Plant.Peaks;
        Over(m, s_envelope.Displacement * (1 + OverShare), "m");
        Over(mps, s_envelope.Velocity * (1 + OverShare), "m/s");
        Over(g, Math.Min(wantedG * (1 + MotionWatch.Share) + OverG, s_envelope.PeakG * (1 + OverShare)), "g");
        Over(jerk, s_envelope.Jerk * (1 + OverJerk), "g/s");

        void Over(double made, double most, string unit)
        {
            if (made <= most) { return; }
            _wrong.Add(string.Create(CultureInfo.InvariantCulture,
                $"{made:0.####} {unit} made {when}, at most {most:0.####} {unit}"));
        }
    }

    private void AssertRest()
    {
        if (Plant.StoppedAt is not { } told)
        {
            _wrong.Add("the last word was no stop");
            return;
        }
        double moved = (Plant.MovedAt - told) / 1e9, allowed = TablePlant.StopS + RingsS + _options.DelayS + 0.02;
        if (moved <= allowed) { return; }
        _wrong.Add(string.Create(CultureInfo.InvariantCulture,
            $"moved for {moved:0.000} s after the stop, allowed {allowed:0.000} s"));
    }
}
