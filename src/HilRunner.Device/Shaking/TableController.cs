using System.Globalization;
using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Device.Shaking;

/// <summary>The controller of a <see cref="SimulatedTable"/>: text lines over a link, as README.md beside this file lists them.</summary>
public sealed class TableController(SimulatedTable table, SimulatedTableOptions options, ILink link) : ILinkReceiver
{
    private const int LongestLine = 2000;
    private static readonly TimeSpan s_write = TimeSpan.FromMilliseconds(200);
    /// <summary>In one line.</summary>
    private const int MostPlayed = 50;
    private readonly StringBuilder _line = new();
    private readonly Lock _say = new();
    private volatile bool _gone;

    public void Start() => link.Start(this);

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        foreach (byte b in bytes)
        {
            if (b != '\n')
            {
                if (b != '\r' && _line.Length < LongestLine) { _line.Append((char)b); }
                continue;
            }
            string line = _line.ToString();
            _line.Clear();
            if (table.Has(options.LostAfter, arrival)) { _gone = true; }
            if (!_gone) { Answer(line, arrival); }
        }
    }

    /// <summary>The host's end may go and come back; the table keeps to its watchdog meanwhile.</summary>
    public void OnLost(LinkException cause, HostTime at) => _gone = true;

    private void Answer(string line, HostTime at)
    {
        table.Hear(at);
        string[] words = line.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        string? answer = words switch
        {
            ["id"] => "id simulated-table 1.0.0",
            ["arm"] => Taken("arm", table.Arm(at)),
            ["sine", var hz, var mm] => Number(hz, out double f) && Number(mm, out double a) ? Taken("sine", table.Move(f, a, at)) : "no sine: not a number",
            ["stream", var hz] => Number(hz, out double rate) ? Taken("stream", table.BeginStream(rate, at)) : "no stream: not a number",
            ["p", .. var positions] => Positions(positions, at),
            ["go"] => Taken("go", table.Go(at)),
            ["end"] => Taken("end", table.EndStream(at)),
            ["stop"] => Stopped(at),
            ["status"] => Status(at),
            _ => "no such command",
        };
        if (answer is not null) { Say(answer, at); }
    }

    /// <summary>To be called often: says how far the positions have been played.</summary>
    public void Look(HostTime now)
    {
        double[] played = table.TakePlayed(now);
        for (int from = 0; from < played.Length; from += MostPlayed)
        {
            double[] part = played[from..Math.Min(played.Length, from + MostPlayed)];
            Say(string.Create(CultureInfo.InvariantCulture, $"cr {part.Length} {string.Join(' ', part.Select(g => g.ToString("0.####", CultureInfo.InvariantCulture)))}"), now);
        }
    }

    private void Say(string line, HostTime at)
    {
        lock (_say)
        {
            if (_gone || table.Has(options.SilentAfter, at)) { return; }
            if (table.Has(options.WrongAfter, at)) { line = "#!" + line.Length.ToString(CultureInfo.InvariantCulture); }
            try { link.Write(Encoding.ASCII.GetBytes(line + "\n"), s_write); }
            catch (LinkException) { _gone = true; }
        }
    }

    /// <summary>Taken without a word.</summary>
    private string? Positions(string[] words, HostTime at)
    {
        double[] mm = new double[words.Length];
        for (int i = 0; i < mm.Length; i++)
        {
            if (!Number(words[i], out mm[i])) { return "no p: not a number"; }
        }
        return table.Add(mm, at) is { } why ? $"no p: {why}" : null;
    }

    private string Stopped(HostTime at)
    {
        table.Stop(at);
        return "ok stop";
    }

    private string Status(HostTime at)
    {
        var (state, mm, g) = table.Status(at);
        return string.Create(CultureInfo.InvariantCulture, $"st {state.ToString().ToLowerInvariant()} {mm:0.000} {g:0.0000}");
    }

    private static string Taken(string what, string? why) => why is null ? $"ok {what}" : $"no {what}: {why}";

    private static bool Number(string text, out double value) => double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out value) && double.IsFinite(value);
}
