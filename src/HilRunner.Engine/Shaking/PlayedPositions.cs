using System.Globalization;
using System.Text.RegularExpressions;

namespace HilRunner.Engine.Shaking;

/// <summary>What a controller says, unasked, of the positions that it plays. Safe for several threads.</summary>
internal sealed class PlayedPositions(Regex? credit)
{
    private readonly Lock _gate = new();
    private readonly List<double> _measured = [];
    private long _played;

    /// <summary>How many were played, and what was measured at them, in g, as far as it was said.</summary>
    public (long Played, double[] MeasuredG) Now { get { lock (_gate) { return (_played, [.. _measured]); } } }

    public long Played { get { lock (_gate) { return _played; } } }

    /// <summary>What was measured from a position on, in g, as far as it was said.</summary>
    public double[] From(int position)
    {
        lock (_gate) { return position < _measured.Count ? [.. _measured.Skip(position)] : []; }
    }

    public void Clear()
    {
        lock (_gate)
        {
            _played = 0;
            _measured.Clear();
        }
    }

    /// <summary>Whether the line was of this kind. What keeps the pattern busy for too long is not, and fits nothing else.</summary>
    public bool Take(string line)
    {
        try
        {
            if (credit?.Match(line) is not { Success: true } match || !long.TryParse(match.Groups["n"].Value, NumberStyles.None, CultureInfo.InvariantCulture, out long played)) { return false; }
            lock (_gate)
            {
                _played += played;
                foreach (string g in match.Groups["g"].Value.Split(' ', StringSplitOptions.RemoveEmptyEntries)) { _measured.Add(double.TryParse(g, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) ? value : double.NaN); }
            }
            return true;
        }
        catch (RegexMatchTimeoutException) { return false; }
    }
}
