using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Device.Shaking;

/// <summary>The instrument's end of a talk by lines. The host's end may go and come back.</summary>
/// <param name="heard">Takes a line and its time; gives the answer, or null: none.</param>
public sealed class LineServer(ILink link, Func<string, HostTime, string?> heard) : ILinkReceiver
{
    private const int LongestLine = 2000;
    private static readonly TimeSpan s_write = TimeSpan.FromMilliseconds(200);
    private readonly StringBuilder _line = new();
    private readonly Lock _say = new();

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
            if (heard(line, arrival) is { } answer) { Say(answer); }
        }
    }

    public void OnLost(LinkException cause, HostTime at)
    {
    }

    /// <summary>Unasked, or as an answer; to nobody when nobody takes it.</summary>
    public void Say(string line)
    {
        lock (_say)
        {
            try { link.Write(Encoding.ASCII.GetBytes(line + "\n"), s_write); }
            catch (LinkException) { }
        }
    }
}
