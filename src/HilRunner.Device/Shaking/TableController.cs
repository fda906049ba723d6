using System.Globalization;
using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Device.Shaking;

/// <summary>The controller of a <see cref="SimulatedTable"/>: text lines over a link, as README.md beside this file lists them.</summary>
public sealed class TableController(SimulatedTable table, SimulatedTableOptions options, ILink link) : ILinkReceiver
{
    private const int LongestLine = 200;
    private static readonly TimeSpan s_write = TimeSpan.FromMilliseconds(200);
    private readonly StringBuilder _line = new();
    private bool _gone;

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
        string answer = words switch
        {
            ["id"] => "id simulated-table 1.0.0",
            ["arm"] => Taken("arm", table.Arm(at)),
            ["sine", var hz, var mm] => Number(hz, out double f) && Number(mm, out double a) ? Taken("sine", table.Move(f, a, at)) : "no sine: not a number",
            ["stop"] => Stopped(at),
            ["status"] => Status(at),
            _ => "no such command",
        };
        if (table.Has(options.SilentAfter, at)) { return; }
        if (table.Has(options.WrongAfter, at)) { answer = "#!" + answer.Length.ToString(CultureInfo.InvariantCulture); }
        try { link.Write(Encoding.ASCII.GetBytes(answer + "\n"), s_write); }
        catch (LinkException) { _gone = true; }
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
