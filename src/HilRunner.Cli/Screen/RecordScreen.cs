using HilRunner.Application.Recorders;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Engine.Prompting;
using HilRunner.Engine.Recorders;

namespace HilRunner.Cli.Screen;

/// <summary>
/// What <c>hil record</c> shows while it records: on a terminal the motion, the labels and the keys, elsewhere a line for each thing that
/// happens. All of it goes to stderr.
/// </summary>
internal sealed class RecordScreen : IRecordView
{
    private const int RowsPerChannel = 2;
    private const int TextColumns = 18;
    private const int WidestPlot = 120;
    private const double LeastSpanG = 0.1, LeastSpanDps = 10;
    private const int MostSaid = 20;
    /// <summary>Prompt, keys and what happened last, at most.</summary>
    private const int LinesBelow = 7;

    private readonly IReadOnlyList<InputChannel> _channels;
    private readonly MotionTrace _trace;
    private readonly ClassKeys _keys;
    private readonly string _name;
    private readonly LiveBlock? _block;
    private char _label = ' ';
    private int _incidents;
    private string _last = "";

    public RecordScreen(DeviceDescription device, ClassKeys keys, string name)
    {
        _channels = device.Input.Channels;
        _trace = new(_channels.Count, device.Input.Rate.Hertz);
        (_keys, _name) = (keys, name);
        _block = Console.IsErrorRedirected ? null : new(Terminal.Drawing);
    }

    public void OnSample(ReadOnlySpan<double> values) => _trace.Add(values, _label);

    public void OnIncident(string what)
    {
        _incidents++;
        _last = what;
        if (_block is null && _incidents <= MostSaid) { Console.Error.WriteLine($"recording: {what}"); }
    }

    /// <param name="seconds">How long ago this label began.</param>
    public void OnLabel(string? @class, double seconds, string said)
    {
        _label = _keys.KeyOf(@class);
        _trace.Relabel(seconds, _label);
        _last = said;
        if (_block is null) { Console.Error.WriteLine($"recording: {said}"); }
    }

    public void Note(string said) => _last = said;

    /// <param name="script">Null: labels are set by keys.</param>
    /// <param name="at">Where in the script it is.</param>
    public void Draw(Recorder recorder, PromptSchedule? script, StimulusTime? at, bool marked)
    {
        if (_block is null) { return; }
        var lines = new List<StyledLine> { Head(recorder) };
        int columns = Math.Min(WidestPlot, LiveBlock.Width() - 1 - TextColumns);
        bool fits = 1 + RowsPerChannel * _channels.Count + 1 + LinesBelow < LiveBlock.Height();
        for (int i = 0; fits && i < _channels.Count; i++) { lines.AddRange(Plot(i, columns)); }
        lines.Add(new(new string(' ', TextColumns) + new string([.. Enumerable.Range(0, columns).Select(c => LabelAt(2 * (columns - 1 - c)))]), LineStyle.Bold));
        if (script is not null) { lines.AddRange(PromptLines.Of(script, at, marked)); }
        else
        {
            lines.Add(new($"label: {recorder.Labels.Current ?? "none"}", LineStyle.Bold));
        }
        lines.Add(new(Keys(script is not null), LineStyle.Quiet));
        lines.Add(_last);
        _block.Show(lines);
    }

    public void Clear() => _block?.Clear();

    private char LabelAt(int back) => _trace.LabelAt(back) is var label && label != ' ' ? label : '·';

    private StyledLine Head(Recorder recorder)
    {
        var part = recorder.Current;
        string parts = recorder.Parts.Count > 1 ? $"  part {recorder.Parts.Count}" : "";
        string rate = part?.Arrivals.Rate is { } measured ? FormattableString.Invariant($"  {measured.Hertz:0.00} Hz") : "";
        string lost = recorder.SamplesLost > 0 ? $"  {recorder.SamplesLost} lost" : "";
        string samples = part is null ? "waiting for samples" : FormattableString.Invariant($"{part.Duration.Seconds:0.0} s  {part.SampleCount} samples");
        string says = recorder.LastDecision is { } said ? $"  device says {said}" : "";
        return new($"recording {_name}{parts}  {samples}{rate}{lost}{says}", LineStyle.Bold);
    }

    private IEnumerable<StyledLine> Plot(int channel, int columns)
    {
        bool acceleration = _channels[channel].Name[0] == 'a';
        var (lines, low, high) = DotPlot.Draw(_trace, channel, columns, RowsPerChannel, acceleration ? LeastSpanG : LeastSpanDps);
        string value = FormattableString.Invariant($"{_channels[channel].Name} {_trace.Latest(channel),7:0.000}{(acceleration ? "g" : "")}");
        yield return $"{value,-11}{FormattableString.Invariant($"{high,6:0.00}")} {lines[0]}";
        yield return $"{"",-11}{FormattableString.Invariant($"{low,6:0.00}")} {lines[1]}";
    }

    private string Keys(bool scripted)
    {
        if (!KeyReader.HasTerminal) { return "Ctrl-C ends"; }
        if (scripted) { return "SPACE marks the moment you begin   q ends"; }
        string classes = string.Join("  ", _keys.Classes.Select((c, i) => $"{_keys.KeyOf(i)} {c}"));
        return $"{classes}{(classes.Length > 0 ? "  0 none  u undo" : "(the rig names no classes: --class)")}  q end";
    }
}
