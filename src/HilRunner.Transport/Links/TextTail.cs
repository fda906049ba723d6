using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Transport.Links;

/// <summary>Keeps the end of a text that may be endless: at most 2 KiB, of which the last lines are shown.</summary>
internal sealed class TextTail : ILinkReceiver
{
    private const int CapacityBytes = 2048;
    private const int LinesShown = 5;
    private readonly byte[] _bytes = new byte[CapacityBytes];
    private readonly object _gate = new();
    private int _count;

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        lock (_gate)
        {
            ReadOnlySpan<byte> end = bytes.Length > CapacityBytes ? bytes[^CapacityBytes..] : bytes;
            int keep = Math.Min(_count, CapacityBytes - end.Length);
            _bytes.AsSpan(_count - keep, keep).CopyTo(_bytes);
            end.CopyTo(_bytes.AsSpan(keep));
            _count = keep + end.Length;
        }
    }

    public void OnLost(LinkException cause, HostTime at) { }

    public override string ToString()
    {
        lock (_gate)
        {
            string[] lines = Encoding.UTF8.GetString(_bytes, 0, _count).Split('\n', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries);
            return string.Join(" | ", lines.TakeLast(LinesShown));
        }
    }
}
