namespace HilRunner.Core.Shakers;

/// <summary>What a table has done before.</summary>
/// <param name="MovedS">How long it moved, without a rest that counts.</param>
/// <param name="RestedForS">How long it has rested since.</param>
public readonly record struct MovedBefore(double MovedS, double RestedForS);

/// <summary>How long a table has moved without a rest that counts. Times are of any one clock, in seconds.</summary>
/// <param name="atS">Now; it is at rest.</param>
internal sealed class DutyClock(Envelope envelope, MovedBefore before, double atS)
{
    private double _movedS = before.MovedS, _since, _restFrom = atS - before.RestedForS;
    private bool _moves;

    public double MovedS(double atS) => _moves ? _movedS + atS - _since : atS - _restFrom >= envelope.Rest.TotalSeconds ? 0 : _movedS;

    public MovedBefore At(double atS) => new(MovedS(atS), _moves ? 0 : atS - _restFrom);

    /// <summary>From this moment on it moves, or rests.</summary>
    public void Pass(bool moves, double atS)
    {
        double moved = MovedS(atS);
        if (_moves && !moves) { _restFrom = atS; }
        (_moves, _since, _movedS) = (moves, atS, moved);
    }
}
