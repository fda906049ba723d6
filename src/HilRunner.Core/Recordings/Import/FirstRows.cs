using System.Globalization;

namespace HilRunner.Core.Recordings.Import;

/// <summary>Keeps the first rows for the preview, and hands all on.</summary>
internal sealed class FirstRows(IBlockTarget next, IReadOnlyList<ChannelPlan> channels, int most) : IBlockTarget
{
    private readonly List<string> _shown = [];

    public IReadOnlyList<string> Shown => _shown;

    public void Begin(ImportBlock block, ImportRow first) => next.Begin(block, first);

    public void Row(ImportBlock block, ImportRow row)
    {
        if (_shown.Count < most)
        {
            string time = row.TimeText.Length > 0 ? $"{row.TimeText}: " : "";
            _shown.Add(time + string.Join("  ", channels.Select((_, i) => row.Values[i].ToString("G5", CultureInfo.InvariantCulture))));
        }
        next.Row(block, row);
    }

    public void End(ImportBlock block) => next.End(block);
}
