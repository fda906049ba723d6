using System.Globalization;
using System.Text;
using HilRunner.Core.Files;
using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings;

/// <summary>
/// A recording in the native form that is written while it is made. What is on disk can be read at any moment, also after the
/// writer was killed: whole lines only, labels and side file replaced as a whole.
/// </summary>
public sealed class GrowingRecording : IDisposable
{
    private readonly SampleRate _rate;
    private readonly IReadOnlyList<string> _channels;
    private readonly StringBuilder _lines = new();
    private FileStream? _file;

    /// <summary>Writes the side file; the others come with the first sample and the first label.</summary>
    /// <param name="path">NAME.csv; its folder exists, and no file of that name.</param>
    /// <exception cref="IOException">Could not be written, or exists.</exception>
    public GrowingRecording(string path, SampleRate rate, IReadOnlyList<string> channels, RecordingInfo info)
    {
        (Path, _rate, _channels) = (path, rate, channels);
        if (File.Exists(path)) { throw new IOException($"{path} exists; no recording is ever overwritten"); }
        Describe(info);
    }

    public string Path { get; }
    public int SampleCount { get; private set; }

    /// <summary>One sample, in g and °/s.</summary>
    /// <param name="values">Finite, one for each channel.</param>
    public void Append(ReadOnlySpan<double> values)
    {
        _lines.Append(_rate.TimeOf(SampleCount++).Seconds.ToString("0.#########", CultureInfo.InvariantCulture));
        foreach (double value in values) { _lines.Append(',').Append(value.ToString("R", CultureInfo.InvariantCulture)); }
        _lines.Append('\n');
    }

    /// <summary>Hands over what was appended: from then on a killed process loses nothing of it.</summary>
    /// <exception cref="IOException">Could not be written.</exception>
    public void Flush()
    {
        if (_lines.Length == 0) { return; }
        if (_file is null)
        {
            _lines.Insert(0, "t_s," + string.Join(',', _channels.Select(c => c + (ColumnUse.IsAcceleration(c) ? "_g" : "_dps"))) + "\n");
            _file = new FileStream(PlainFile.CreateHandle(Path), FileAccess.Write, bufferSize: 0);
        }
        // One write of whole lines.
        _file.Write(Encoding.ASCII.GetBytes(_lines.ToString()));
        _lines.Clear();
    }

    /// <summary>Replaces the labels. None: there is no label file.</summary>
    /// <param name="labels">In order, without overlap.</param>
    public void Label(IReadOnlyList<LabelInterval> labels)
    {
        string path = System.IO.Path.ChangeExtension(Path, ".labels.csv");
        if (labels.Count > 0) { AtomicFile.WriteText(path, w => NativeLabels.Write(w, labels)); }
        else { PlainFile.Delete(path); }
    }

    /// <summary>Replaces the side file.</summary>
    public void Describe(RecordingInfo info) => AtomicFile.WriteText(System.IO.Path.ChangeExtension(Path, ".yaml"), w => SideFile.Write(w, info, _rate));

    public void Dispose()
    {
        Flush();
        _file?.Dispose();
    }
}
