using System.Globalization;
using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Device.Shaking;

/// <summary>The controller of a <see cref="SimulatedTable"/>: text lines over a link, as README.md beside this file lists them.</summary>
public sealed class TableController
{
    /// <summary>In one line.</summary>
    private const int MostPlayed = 50;
    private readonly SimulatedTable _table;
    private readonly SimulatedTableOptions _options;
    private readonly LineServer _server;
    private volatile bool _gone;

    public TableController(SimulatedTable table, SimulatedTableOptions options, ILink link)
    {
        (_table, _options) = (table, options);
        _server = new(link, Heard);
    }

    public void Start() => _server.Start();

    /// <summary>To be called often: says how far the positions have been played.</summary>
    public void Look(HostTime now)
    {
        double[] played = _table.TakePlayed(now);
        for (int from = 0; from < played.Length; from += MostPlayed)
        {
            double[] part = played[from..Math.Min(played.Length, from + MostPlayed)];
            string line = string.Create(CultureInfo.InvariantCulture, $"cr {part.Length} {string.Join(' ', part.Select(g => g.ToString("0.####", CultureInfo.InvariantCulture)))}");
            if (Faulty(line, now) is { } said) { _server.Say(said); }
        }
    }

    private string? Heard(string line, HostTime at)
    {
        if (_table.Has(_options.LostAfter, at)) { _gone = true; }
        if (_gone) { return null; }
        return Answer(line, at) is { } answer ? Faulty(answer, at) : null;
    }

    /// <summary>As it is said with the faults that have begun; null: not at all.</summary>
    private string? Faulty(string line, HostTime at)
    {
        if (_gone || _table.Has(_options.SilentAfter, at)) { return null; }
        return _table.Has(_options.WrongAfter, at) ? "#!" + line.Length.ToString(CultureInfo.InvariantCulture) : line;
    }

    private string? Answer(string line, HostTime at)
    {
        _table.Hear(at);
        return line.Split(' ', StringSplitOptions.RemoveEmptyEntries) switch
        {
            ["id"] => "id simulated-table 1.0.0",
            ["arm"] => Taken("arm", _table.Arm(at)),
            ["sine", var hz, var mm] => Number(hz, out double f) && Number(mm, out double a) ? Taken("sine", _table.Move(f, a, at)) : "no sine: not a number",
            ["stream", var hz] => Number(hz, out double rate) ? Taken("stream", _table.BeginStream(rate, at)) : "no stream: not a number",
            ["p", .. var positions] => Positions(positions, at),
            ["go"] => Taken("go", _table.Go(at)),
            ["end"] => Taken("end", _table.EndStream(at)),
            ["stop"] => Stopped(at),
            ["status"] => Status(at),
            _ => "no such command",
        };
    }

    /// <summary>Taken without a word.</summary>
    private string? Positions(string[] words, HostTime at)
    {
        double[] mm = new double[words.Length];
        for (int i = 0; i < mm.Length; i++)
        {
            if (!Number(words[i], out mm[i])) { return "no p: not a number"; }
        }
        return _table.Add(mm, at) is { } why ? $"no p: {why}" : null;
    }

    private string Stopped(HostTime at)
    {
        _table.Stop(at);
        return "ok stop";
    }

    private string Status(HostTime at)
    {
        var (state, mm, g) = _table.Status(at);
        return string.Create(CultureInfo.InvariantCulture, $"st {state.ToString().ToLowerInvariant()} {mm:0.000} {g:0.0000}");
    }

    private static string Taken(string what, string? why) => why is null ? $"ok {what}" : $"no {what}: {why}";

    private static bool Number(string text, out double value) => double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out value) && double.IsFinite(value);
}
