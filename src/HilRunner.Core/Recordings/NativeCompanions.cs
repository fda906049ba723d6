using HilRunner.Core.Files;
using HilRunner.Core.Recordings.Parquet;

namespace HilRunner.Core.Recordings;

/// <summary>
/// What stands beside the motion of a recording in the native form: in files of its name, or inside its Parquet file. A Parquet
/// file that holds a side file is whole: files of the same name do not count.
/// </summary>
internal sealed class NativeCompanions
{
    private readonly string _sidePath, _labelPath;
    private readonly string? _side, _labels;
    private readonly FaultList _sideFaults, _labelFaults;

    /// <param name="path">NAME.csv or NAME.parquet.</param>
    /// <param name="metadata">Of the Parquet file; null: no Parquet.</param>
    /// <exception cref="BadInputException">The side file may not be read.</exception>
    public NativeCompanions(string path, IReadOnlyDictionary<string, string>? metadata)
    {
        _side = metadata?.GetValueOrDefault(ParquetMetadata.Side);
        _labels = metadata?.GetValueOrDefault(ParquetMetadata.Labels) ?? (_side is null ? null : "");
        _sidePath = _side is null ? Path.ChangeExtension(path, ".yaml") : path;
        _labelPath = _labels is null ? Path.ChangeExtension(path, ".labels.csv") : path;
        (_sideFaults, _labelFaults) = (new(_sidePath), new(_labelPath));
        Info = _side is not null
            ? SideFile.Parse(_side, _sideFaults)
            : InputFile.Using(_sidePath, "a side file", () => SideFile.Read(_sidePath, _sideFaults));
    }

    public RecordingInfo Info { get; }

    /// <summary>Of the side file, then of the labels.</summary>
    public IReadOnlyList<FaultList> Faults => [_labelFaults, _sideFaults];

    /// <param name="originNs">The first sample's entry in t_s.</param>
    public IReadOnlyList<LabelInterval> Labels(long originNs) => _labels switch
    {
        null => InputFile.Using(_labelPath, "labels", () => NativeLabels.Read(_labelPath, originNs, _labelFaults)),
        "" => [],
        _ => NativeLabels.Read(_labelPath, new StringReader(_labels), originNs, _labelFaults),
    };
}
