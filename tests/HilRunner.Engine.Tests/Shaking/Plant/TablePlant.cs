using System.Globalization;
using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Tests.Shaking.Plant;

internal enum PlantFault
{
    None,
    /// <summary>The drive makes four times what it is told.</summary>
    Runaway,
    DeadSensor,
    StuckSensor,
    /// <summary>Measures no more than a fifth of what there is.</summary>
    SaturatedSensor,
    Interlock,
    NoAnswer,
    WrongAnswer,
}

/// <param name="Gain">Of the drive.</param>
/// <param name="ResonanceHz">Of what the table carries, with the device on it.</param>
/// <param name="Q">Of the resonance.</param>
/// <param name="DelayS">From command to drive.</param>
/// <param name="NoiseG">Of the sensor, standard deviation.</param>
internal sealed record PlantOptions(double Gain, double ResonanceHz, double Q, double DelayS, double NoiseG, int Seed);

/// <summary>
/// A controller, its table and a sensor, apart from the product and from its simulated table: a servo of 400 Hz, and on it a
/// resonance, H = (s² + ωs + ω²)/(s² + ωs/Q + ω²): Q at its own frequency, 1 far from it. Steps of 50 µs. It is moved by whoever
/// looks: nothing runs between two looks.
/// Positions are joined by uniform cubic B-splines; a stop fades out within 150 ms. Keeps the peaks of its true motion.
/// </summary>
internal sealed class TablePlant : ILink
{
    public const double StopS = 0.15;
    /// <summary>
    /// How long a new level is taken up, by a raised cosine: a straight rise would have corners, which are blows.
    /// </summary>
    private const double TakeUpS = 0.04;
    public const double Dt = 50e-6;
    /// <summary>How long it takes until the drive makes four times as much: a jump would be no motion of a table's.</summary>
    public const double RunawayS = 0.2;
    private const double Gravity = 9.80665;
    private const int Window = 6000;
    private const int MostAtOnce = 100;
    private readonly PlantOptions _options;
    private readonly HostClock _clock;
    private readonly HostTime _start;
    private readonly Random _random;
    private readonly SecondOrder _servo, _mode;
    private readonly double _part, _omega;
    // Of the true motion: m, m/s, m/s².
    private double _x, _v, _a;
    private readonly double[] _delay;
    private readonly Lock _gate = new();
    private readonly List<double> _positions = [];
    // Of the last 0.3 s: largest and smallest of each tenth of it.
    private readonly (double Low, double High)[] _peaks = new (double, double)[10];
    private ILinkReceiver? _receiver;
    private string _state = "resting";
    private long _steps;
    private double _hz = 2, _turns, _amplitude, _target, _rate, _place, _fade = 1, _from, _taken = 1, _lastA, _lastSensed, _sum;
    private int _count, _said;
    private bool _flows, _ended, _stopping, _streams;
    private readonly List<double> _played = [];
    private PlantFault _fault;

    public TablePlant(PlantOptions options, HostClock clock)
    {
        (_options, _clock, _start, _random) = (options, clock, clock.Now, new(options.Seed));
        _servo = new(400, 0.7, 0, Dt);
        _mode = new(options.ResonanceHz, 1 / (2 * options.Q), 0, Dt);
        _omega = 2 * Math.PI * options.ResonanceHz;
        _part = (1 - 1 / options.Q) / _omega;
        _delay = new double[1 + (int)(options.DelayS / Dt)];
    }

    public string Name => "plant";

    /// <summary>Of the true motion since the last <see cref="Forget"/>: m, m/s, g, g/s.</summary>
    public (double M, double Mps, double G, double GPerS) Peaks { get; private set; }

    /// <summary>When the controller was first told to stop after the last <see cref="Forget"/>.</summary>
    public HostTime? StoppedAt { get; private set; }

    /// <summary>
    /// When the true motion was last above 0.02 g, and a twentieth of its highest since the last <see cref="Forget"/>.
    /// </summary>
    public HostTime MovedAt { get; private set; }

    public HostTime FaultAt { get; private set; }

    public void Forget()
    {
        lock (_gate)
        {
            Advance();
            (Peaks, StoppedAt) = (default, null);
        }
    }

    public void Break(PlantFault fault)
    {
        lock (_gate)
        {
            Advance();
            (_fault, FaultAt) = (fault, _clock.Now);
            if (fault == PlantFault.Interlock)
            {
                _state = "interlock";
                Stop();
            }
        }
    }

    /// <summary>Goes on to now, and says what of a stream was played.</summary>
    public void Look()
    {
        List<string> credits = [];
        lock (_gate)
        {
            Advance();
            while (Credit() is { } credit) { credits.Add(credit); }
        }
        foreach (string credit in credits) { Say(credit); }
    }

    public void Start(ILinkReceiver receiver) => _receiver = receiver;

    public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit)
    {
        HostTime at = _clock.Now;
        string? answer = null;
        lock (_gate)
        {
            Advance();
            foreach (string line in Encoding.ASCII.GetString(bytes)
                .Split('\n', StringSplitOptions.RemoveEmptyEntries)) { answer = Hear(line.Split(' ')); }
        }
        if (answer is not null && _fault != PlantFault.NoAnswer) { Say(_fault == PlantFault.WrongAnswer ? "what?" : answer); }
        return at;
    }

    public void Dispose()
    {
    }

    private void Say(string line) => _receiver?.OnReceived(Encoding.ASCII.GetBytes(line + "\n"), _clock.Now);

    private static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);

    private string? Hear(string[] words)
    {
        switch (words[0])
        {
            case "id": return "id plant";
            case "arm":
                if (_state is not ("resting" or "armed")) { return "no not at rest"; }
                (_state, _stopping) = ("armed", false);
                return "ok";
            case "sine":
                if (_state is not ("armed" or "moving") || _streams) { return "no not armed"; }
                (_hz, _target) = (Number(words[1]), Number(words[2]) / 1000);
                (_from, _taken) = (_amplitude, 0);
                _state = "moving";
                return "ok";
            case "stop":
                StoppedAt ??= _clock.Now;
                Stop();
                return "ok";
            case "status":
                double peak = (_peaks.Max(p => p.High) - _peaks.Min(p => p.Low)) / 2;
                return string.Create(CultureInfo.InvariantCulture, $"st {_state} {_x * 1000:0.####} {peak:0.#####}");
            case "stream":
                if (_state != "armed") { return "no not armed"; }
                _positions.Clear();
                _played.Clear();
                (_rate, _place, _fade, _flows, _ended, _streams, _said, _sum, _count) = (Number(words[1]), 0, 1, false, false,
                    true, 0, 0, 0);
                return "ok";
            case "p":
                _positions.AddRange(words.Skip(1).Select(w => Number(w) / 1000));
                return null;
            case "go":
                (_flows, _state) = (true, "moving");
                return "ok";
            case "end":
                _ended = true;
                return "ok";
            default: return "no such command";
        }
    }

    private void Stop()
    {
        _stopping = true;
        _target = 0;
        (_from, _taken) = (_amplitude, 0);
        if (_state == "moving") { _state = "stopping"; }
    }

    /// <summary>Of no more positions than a controller says at once, however late it is looked after.</summary>
    private string? Credit()
    {
        if (_played.Count == _said) { return null; }
        int upTo = Math.Min(_played.Count, _said + MostAtOnce);
        var text = new StringBuilder();
        text.Append(CultureInfo.InvariantCulture, $"cr {upTo - _said}");
        for (; _said < upTo; _said++) { text.Append(CultureInfo.InvariantCulture, $" {_played[_said]:0.####}"); }
        return text.ToString();
    }

    private void Advance()
    {
        for (long last = (long)((_clock.Now - _start) / (Dt * 1e9)); _steps < last; _steps++) { Step(); }
    }

    private void Step()
    {
        if (!_streams && _taken < 1)
        {
            _taken = Math.Min(1, _taken + Dt / (_stopping ? StopS : TakeUpS));
            _amplitude = _from + (_target - _from) * (0.5 - 0.5 * Math.Cos(Math.PI * _taken));
        }
        _turns = (_turns + _hz * Dt) % 1;
        double gain = _options.Gain;
        if (_fault == PlantFault.Runaway)
        {
            double since = (_steps * Dt) - (FaultAt - _start) / 1e9;
            gain *= 1 + 3 * Math.Clamp(since / RunawayS, 0, 1);
        }
        double told = gain * (_streams ? Streamed() : _amplitude * Math.Sin(2 * Math.PI * _turns));
        int slot = (int)(_steps % _delay.Length);
        _delay[slot] = told;
        _servo.Step(_delay[(slot + 1) % _delay.Length]);
        _mode.Step(_servo.X);
        // H = 1 + (1 − 1/Q)ωs/(s² + ωs/Q + ω²): the rate of a mode is added to what drives it.
        double modeJerk = _omega * _omega * (_servo.V - _mode.V) - _omega / _options.Q * _mode.A;
        (_x, _v, _a) = (_servo.X + _part * _mode.V, _servo.V + _part * _mode.A, _servo.A + _part * modeJerk);
        double g = _a / Gravity, jerk = (_a - _lastA) / Gravity / Dt;
        _lastA = _a;
        Peaks = (Math.Max(Peaks.M, Math.Abs(_x)), Math.Max(Peaks.Mps, Math.Abs(_v)), Math.Max(Peaks.G, Math.Abs(g)),
            Math.Max(Peaks.GPerS, Math.Abs(jerk)));
        if (Math.Abs(g) > Math.Max(0.02, Peaks.G / 20)) { MovedAt = _start + TimeSpan.FromTicks(_steps * (long)(Dt * 1e7)); }
        Sense(g);
        if (_state == "stopping" && !_streams && _amplitude == 0 && Math.Abs(g) < 0.005) { _state = "resting"; }
    }

    /// <summary>A sample each millisecond.</summary>
    private void Sense(double g)
    {
        if (_steps % 20 == 0)
        {
            double noise = 0;
            for (int i = 0; i < 12; i++) { noise += _random.NextDouble(); }
            double sensed = g + _options.NoiseG * (noise - 6);
            _lastSensed = _fault switch
            {
                PlantFault.DeadSensor => _options.NoiseG * (noise - 6),
                PlantFault.StuckSensor => _lastSensed,
                PlantFault.SaturatedSensor => Math.Clamp(sensed, -SaturatedG, SaturatedG),
                _ => sensed,
            };
            int block = (int)(_steps / (Window / 10) % 10);
            _peaks[block] = _steps % (Window / 10) == 0 ? (_lastSensed, _lastSensed)
                : (Math.Min(_peaks[block].Low, _lastSensed), Math.Max(_peaks[block].High, _lastSensed));
        }
        if (_streams && _flows) { (_sum, _count) = (_sum + _lastSensed, _count + 1); }
    }

    /// <summary>What the saturated sensor measures at most.</summary>
    public double SaturatedG { get; set; } = 0.03;

    private double Streamed()
    {
        if (!_flows) { return 0; }
        double before = _place;
        _place += _rate * Dt;
        if (Math.Floor(_place) > Math.Floor(before) && _count > 0 && _played.Count < _positions.Count)
        {
            _played.Add(_sum / _count);
            (_sum, _count) = (0, 0);
        }
        if (_stopping) { _fade = Math.Max(0, _fade - Dt / StopS); }
        int k = (int)Math.Floor(_place);
        bool over = k >= _positions.Count;
        if (over && !_ended && !_stopping) { Stop(); }
        if ((over && Math.Abs(_a) < 0.05) || _fade == 0)
        {
            if (over && _ended && _played.Count < _positions.Count) { _played.Add(0); }
            if (_fade == 0 || _played.Count >= _positions.Count)
            {
                (_streams, _flows, _amplitude, _target) = (false, false, 0, 0);
                if (_state is "moving" or "stopping") { _state = _stopping ? "stopping" : "armed"; }
                return 0;
            }
        }
        double t = _place - k;
        double At(int i) => i >= 0 && i < _positions.Count ? _positions[i] : 0;
        double x = ((1 - t) * (1 - t) * (1 - t) * At(k - 1) + (3 * t * t * t - 6 * t * t + 4) * At(k)
            + (-3 * t * t * t + 3 * t * t + 3 * t + 1) * At(k + 1) + t * t * t * At(k + 2)) / 6;
        return (0.5 - 0.5 * Math.Cos(Math.PI * _fade)) * x;
    }
}
