namespace HilRunner.Device.Shaking;

/// <summary>Positions that come while they are played, a straight line from each to the next. What stops early fades out over what is still there.</summary>
internal sealed class PositionStream(double rateHz)
{
    public const int Buffer = 2000;
    private readonly Queue<double> _waiting = new();
    private double _from, _to, _place, _fade = 1, _fadePerS;
    private bool _begun, _due;

    /// <summary>No more come.</summary>
    public bool Ended { get; set; }

    /// <summary>All were played, or it has faded out.</summary>
    public bool IsOver { get; private set; }

    /// <returns>Whether there was room.</returns>
    public bool Add(IReadOnlyList<double> mm)
    {
        if (_waiting.Count + mm.Count > Buffer) { return false; }
        foreach (double x in mm) { _waiting.Enqueue(x / 1000); }
        return true;
    }

    public void FadeOut(TimeSpan within) => _fadePerS = 1 / within.TotalSeconds;

    /// <summary>Goes on by a little: less than from one position to the next.</summary>
    /// <param name="rest">What it must keep to fade out over.</param>
    /// <param name="passed">A position has been passed by half of the way to the next, or was the last: what was measured around it can be said.</param>
    /// <param name="starved">Too few are left to go on, and more were to come.</param>
    /// <returns>Where it is, in m.</returns>
    public double Step(double dt, TimeSpan rest, out bool passed, out bool starved)
    {
        if (!_begun) { (_begun, IsOver) = (true, !_waiting.TryDequeue(out _to)); }
        _place += rateHz * dt;
        if (_place >= 1 && !IsOver)
        {
            _due = true;
            _place--;
            _from = _to;
            IsOver = !_waiting.TryDequeue(out _to);
            if (IsOver) { _to = _from; }
        }
        passed = _due && (_place >= 0.5 || IsOver);
        _due &= !passed;
        starved = !Ended && _fadePerS == 0 && _waiting.Count < rest.TotalSeconds * rateHz;
        _fade = Math.Max(0, _fade - _fadePerS * dt);
        IsOver |= _fade == 0;
        return (0.5 - 0.5 * Math.Cos(Math.PI * _fade)) * (_from + (_to - _from) * _place);
    }
}
