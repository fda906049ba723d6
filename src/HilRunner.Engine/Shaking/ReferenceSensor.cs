using System.Globalization;
using System.Text.RegularExpressions;
using HilRunner.Core.Links;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Shaking;

/// <summary>A reference accelerometer, read over and over by a thread of its own, so that a slow instrument holds nothing up.</summary>
internal sealed class ReferenceSensor : IDisposable
{
    private static readonly TimeSpan s_match = TimeSpan.FromMilliseconds(50), s_pause = TimeSpan.FromMilliseconds(20);
    private readonly ShakerReference _reference;
    private readonly HostClock _clock;
    private readonly LineTalk _line;
    private readonly Regex _answer;
    private readonly Thread _reader;
    private readonly Lock _gate = new();
    private (double PeakG, HostTime At)? _latest;
    private ShakerException? _fault;
    private volatile bool _over;

    /// <param name="link">Disposed with this.</param>
    public ReferenceSensor(ShakerReference reference, ILink link, HostClock clock, Action<string> log)
    {
        (_reference, _clock, _answer) = (reference, clock, new(reference.Answer, RegexOptions.CultureInvariant, s_match));
        _line = new($"reference {link.Name}", link, clock, line => log($"reference {line}"), _ => false);
        _line.Start();
        _reader = new Thread(Read) { IsBackground = true, Name = "shaker reference" };
        _reader.Start();
    }

    /// <summary>What it measured last, in g, peak.</summary>
    /// <exception cref="ShakerException">It says nothing, nothing understood, or nothing lately.</exception>
    public double PeakG
    {
        get
        {
            HostTime end = _clock.Now + _reference.Within;
            while (true)
            {
                lock (_gate)
                {
                    if (_fault is { } fault) { throw new ShakerException(fault.Message, fault); }
                    if (_latest is { } latest && latest.At + _reference.Within > _clock.Now) { return latest.PeakG; }
                }
                if (_clock.Now > end) { throw new ShakerException($"{_line.Who}: nothing was measured for {_reference.Within.TotalMilliseconds:0} ms"); }
                _line.Wait(s_pause);
            }
        }
    }

    public void Dispose()
    {
        _over = true;
        _reader.Join();
        _line.Dispose();
    }

    private void Read()
    {
        while (!_over)
        {
            try
            {
                string said = _line.Ask(_reference.Ask, _reference.Within);
                if (_answer.Match(said) is not { Success: true } match || !double.TryParse(match.Groups["value"].Value, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) || !double.IsFinite(value)) { throw new ShakerException($"{_line.Who}: \"{said}\" is no value that its description has"); }
                lock (_gate) { _latest = (Math.Abs(value) * _reference.GPerUnit, _clock.Now); }
            }
            catch (Exception fault) when (fault is ShakerException or RegexMatchTimeoutException)
            {
                lock (_gate) { _fault = fault as ShakerException ?? new($"{_line.Who}: its answer keeps the pattern busy", fault); }
                return;
            }
            _line.Wait(s_pause);
        }
    }
}
