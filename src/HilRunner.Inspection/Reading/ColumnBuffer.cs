namespace HilRunner.Inspection.Reading;

/// <summary>A column that grows by pieces, so that ten million rows are copied once and not at every doubling.</summary>
internal sealed class ColumnBuffer<T>
{
    private const int PieceLength = 1 << 16;

    private readonly List<T[]> _full = [];
    private T[] _piece = new T[64];
    private int _filled;

    public void Add(T value)
    {
        if (_filled == _piece.Length)
        {
            if (_piece.Length < PieceLength) { Array.Resize(ref _piece, Math.Min(PieceLength, 4 * _piece.Length)); }
            else
            {
                _full.Add(_piece);
                _piece = new T[PieceLength];
                _filled = 0;
            }
        }
        _piece[_filled++] = value;
    }

    public T[] ToArray()
    {
        var all = GC.AllocateUninitializedArray<T>(checked(_full.Count * PieceLength + _filled));
        for (int i = 0; i < _full.Count; i++) { _full[i].CopyTo(all, i * PieceLength); }
        _piece.AsSpan(0, _filled).CopyTo(all.AsSpan(_full.Count * PieceLength));
        return all;
    }
}
