using HilRunner.Core.Numerics;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;

namespace HilRunner.Device.Shaking;

/// <summary>
/// A moving table in simulated time that follows the host's clock: commands act when they arrive, the device that rides on it feels the acceleration of any moment of the last half second.
/// Safe for several threads.
/// </summary>
public sealed class SimulatedTable(SimulatedTableOptions options, HostTime start)
{
    private readonly HostTime _start = start;
    private const long StepNs = 50_000;
    private const double Dt = StepNs / 1e9;
    private const int Kept = 10_000;
    private const int StepsPerBlock = 1000;
    private readonly Lock _gate = new();
    private readonly TableDynamics _dynamics = new(options.NaturalHz, options.Damping, options.Stroke, options.MostG);
    private readonly float[] _feltG = new float[Kept];
    private readonly List<double> _playedG = [];
    // The largest of each 50 ms, for half a second: a period of the slowest that it is told.
    private readonly double[] _peakG = new double[10];
    private Xoshiro256 _noise = new(options.Seed);
    private long _steps;
    private double _hz, _turns, _amplitude, _target, _perSecond;
    private HostTime _heard = start;
    private HostTime? _firstMove;
    private TableState _state = TableState.Resting;
    private PositionStream? _stream;
    private double _aroundG;
    private int _around;

    /// <summary>In g, the largest of the last half second, as its own sensor measures it.</summary>
    public (TableState State, double Mm, double PeakG) Status(HostTime now)
    {
        lock (_gate)
        {
            Advance(now);
            return (_state, _dynamics.X * 1000, Math.Max(0, _peakG.Max() + Noise()));
        }
    }

    /// <summary>Where it is, in mm, and its acceleration, in g: the truth, for a trace.</summary>
    public (double Mm, double G) Truth(HostTime now)
    {
        lock (_gate)
        {
            Advance(now);
            return (_dynamics.X * 1000, _dynamics.A / Gravity.Standard);
        }
    }

    /// <summary>What rides on it felt along its axis at that moment, beside gravity, in g.</summary>
    public double FeltG(HostTime at)
    {
        lock (_gate)
        {
            Advance(at);
            long step = Math.Clamp((at - _start) / StepNs - 1, Math.Max(0, _steps - Kept), Math.Max(0, _steps - 1));
            return _feltG[step % Kept];
        }
    }

    /// <summary>It is told that the host is there.</summary>
    public void Hear(HostTime at)
    {
        lock (_gate)
        {
            Advance(at);
            _heard = at;
        }
    }

    /// <summary>Null: it is ready; else why not.</summary>
    public string? Arm(HostTime at)
    {
        lock (_gate)
        {
            Advance(at);
            if (_state is TableState.Interlock or TableState.Limit or TableState.Hot or TableState.Fault) { return _state.ToString().ToLowerInvariant(); }
            if (_state is not (TableState.Resting or TableState.Armed)) { return "moving"; }
            _state = TableState.Armed;
            return null;
        }
    }

    /// <summary>Null: it moves; else why not. The level is taken up over 20 ms.</summary>
    /// <param name="mm">Zero to peak.</param>
    public string? Move(double hz, double mm, HostTime at)
    {
        lock (_gate)
        {
            Advance(at);
            if (_state is not (TableState.Armed or TableState.Moving)) { return "not armed"; }
            if (!(hz is > 0 and <= 1000 && mm is >= 0 and <= 1000)) { return "no such motion"; }
            // A frequency is taken up without a jump: the phase goes on.
            (_hz, _target) = (hz, mm / 1000);
            _perSecond = Math.Abs(_target - _amplitude) / 0.02;
            _state = TableState.Moving;
            _firstMove ??= at;
            return null;
        }
    }

    /// <summary>Waits for positions at a rate; null: it does.</summary>
    public string? BeginStream(double rateHz, HostTime at)
    {
        lock (_gate)
        {
            Advance(at);
            if (_state != TableState.Armed) { return _state == TableState.Moving ? "moving" : "not armed"; }
            if (rateHz is not (> 0 and <= 20_000)) { return "no such rate"; }
            _stream = new(rateHz);
            return null;
        }
    }

    /// <summary>Takes positions, in mm; null: it has.</summary>
    public string? Add(IReadOnlyList<double> mm, HostTime at)
    {
        lock (_gate)
        {
            Advance(at);
            return _stream is null ? "no stream" : _stream.Add(mm) ? null : "full";
        }
    }

    /// <summary>Begins to move through its positions; null: it does.</summary>
    public string? Go(HostTime at)
    {
        lock (_gate)
        {
            Advance(at);
            if (_stream is null || _state != TableState.Armed) { return "not armed, or no stream"; }
            _state = TableState.Moving;
            _firstMove ??= at;
            return null;
        }
    }

    /// <summary>No more positions come; null: it has understood.</summary>
    public string? EndStream(HostTime at)
    {
        lock (_gate)
        {
            Advance(at);
            if (_stream is null) { return "no stream"; }
            _stream.Ended = true;
            return null;
        }
    }

    /// <summary>What it measured at the positions that it has played since it was last asked, in g; the count is that of the positions.</summary>
    public double[] TakePlayed(HostTime now)
    {
        lock (_gate)
        {
            Advance(now);
            double[] played = [.. _playedG];
            _playedG.Clear();
            return played;
        }
    }

    public void Stop(HostTime at)
    {
        lock (_gate)
        {
            Advance(at);
            Rest(TableState.Stopping);
        }
    }

    /// <summary>Whether a fault that begins so long after the first move has begun.</summary>
    public bool Has(TimeSpan? fault, HostTime at)
    {
        lock (_gate) { return fault is { } after && _firstMove is { } moved && at >= moved + after; }
    }

    private void Rest(TableState why)
    {
        _stream?.FadeOut(options.StopRamp);
        _target = 0;
        _perSecond = Math.Max(_amplitude, 1e-9) / options.StopRamp.TotalSeconds;
        if (_state is not (TableState.Interlock or TableState.Limit or TableState.Hot or TableState.Fault)) { _state = why; }
    }

    private void Advance(HostTime to)
    {
        for (long last = (to - _start) / StepNs; _steps < last; _steps++)
        {
            var now = _start + TimeSpan.FromTicks(_steps * StepNs / 100);
            Watch(now);
            double change = _perSecond * Dt;
            _amplitude = _amplitude < _target ? Math.Min(_target, _amplitude + change) : Math.Max(_target, _amplitude - change);
            _turns += _hz * Dt;
            _turns -= Math.Floor(_turns);
            bool stuck = Began(options.StuckAfter, now);
            double gain = Began(options.RunawayAfter, now) ? 3 : 1;
            double streamed = Streamed();
            _dynamics.Step(stuck ? _dynamics.X : gain * (_amplitude * Math.Sin(2 * Math.PI * _turns) + streamed), Dt);
            double g = _dynamics.A / Gravity.Standard;
            _feltG[_steps % Kept] = (float)g;
            int block = (int)(_steps / StepsPerBlock % _peakG.Length);
            _peakG[block] = _steps % StepsPerBlock == 0 ? Math.Abs(g) : Math.Max(_peakG[block], Math.Abs(g));
            if (_state == TableState.Stopping && _amplitude == 0 && _stream is null && Math.Abs(_dynamics.V) < 1e-4) { _state = TableState.Resting; }
        }
    }

    private double Noise() => (_noise.NextShare() + _noise.NextShare() + _noise.NextShare() - 1.5) * 2 * options.NoiseG;

    /// <summary>Where the stream's positions have it now, in m.</summary>
    private double Streamed()
    {
        if (_stream is not { } stream || _state is not (TableState.Moving or TableState.Stopping or TableState.Interlock or TableState.Limit or TableState.Hot or TableState.Fault)) { return 0; }
        double x = stream.Step(Dt, options.StopRamp, out bool passed, out bool starved);
        (_aroundG, _around) = (_aroundG + _dynamics.A / Gravity.Standard, _around + 1);
        if (passed)
        {
            // The mean around the position, as a sensor behind a filter measures: not what the straight lines between positions ring.
            if (_state == TableState.Moving) { _playedG.Add(_aroundG / _around + Noise()); }
            (_aroundG, _around) = (0, 0);
        }
        if (starved && _state == TableState.Moving) { Rest(TableState.Fault); }
        if (stream.IsOver)
        {
            _stream = null;
            if (_state == TableState.Moving) { _state = TableState.Armed; }
        }
        return x;
    }

    private void Watch(HostTime now)
    {
        if (_state is TableState.Moving or TableState.Armed && options.Watchdog is { } dog && now > _heard + dog) { Rest(TableState.Stopping); }
        Trip(options.InterlockAfter, TableState.Interlock, now);
        Trip(options.LimitAfter, TableState.Limit, now);
        Trip(options.HotAfter, TableState.Hot, now);
    }

    private void Trip(TimeSpan? after, TableState state, HostTime now)
    {
        if (_state != state && Began(after, now)) { Rest(state); }
    }

    private bool Began(TimeSpan? fault, HostTime now) => fault is { } after && _firstMove is { } moved && now >= moved + after;
}
